"""Writes mqtt-state-schema.json: the JSON Schema of what is published over MQTT.

python docs/mqtt_schema.py        print it; docs/make.py keeps it in docs/mqtt-state-schema.json
"""

from __future__ import annotations

import json
import sys

from daemon.delivery.publishing.schema import published

if __name__ == "__main__":
    sys.stdout.write(json.dumps(published(), ensure_ascii=False, indent=1) + "\n")

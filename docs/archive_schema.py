"""Writes archive-schema.json: the JSON Schema of an archive's files, as each archive carries it.

python docs/archive_schema.py        print it; docs/make.py keeps it in docs/archive-schema.json
"""

from __future__ import annotations

import json
import sys

from daemon.archive.schema import published

if __name__ == "__main__":
    sys.stdout.write(json.dumps(published(), ensure_ascii=False, indent=1) + "\n")

"""The names of the files in an archive; one that is no such name is refused."""

from __future__ import annotations

import re

HEAD, STUDIO, SCHEMA, ABOUT, INDEX = "archive.json", "studio.json", "schema.json", "README.txt", "index.html"
_FIRING = r"firings/\d{6,12}"
NAME = re.compile(rf"archive\.json|studio\.json|schema\.json|README\.txt|index\.html"
                  rf"|{_FIRING}/(?:firing\.json|readings\.csv|source\.csv|page\.html)"
                  r"|photographs/[0-9a-f]{64}-(?:whole|small|thumb)\.jpg", re.ASCII)
"""Every name that a file of an archive can have."""
FIRING_FILE = re.compile(rf"({_FIRING})/firing\.json", re.ASCII)
PHOTOGRAPH_FILE = re.compile(r"photographs/([0-9a-f]{64})-(whole|small|thumb)\.jpg", re.ASCII)


def firing_folder(number: int) -> str:
    """Return the folder of a firing in an archive."""
    return f"firings/{number:06d}"


def photograph_name(mark: str, size: str) -> str:
    """Return the name of a photograph's file in an archive."""
    return f"photographs/{mark}-{size}.jpg"

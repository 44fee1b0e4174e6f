"""Collect the licences of everything that the package carries: ``notices.py SITE_PACKAGES OWN_LICENCE OUT``.

Writes ``OUT/copyright``, which names each part with its version and its licence as the part itself states it, and the
texts that the parts carry into ``OUT/licences/NAME``. A part with neither statement nor text ends the build.
"""

import shutil
import sys
from email.message import Message
from importlib.metadata import Distribution, distributions
from pathlib import Path

_TEXTS = ("licen", "copying", "notice", "authors")
"""How the names of files begin that hold a licence or who wrote the part. [common practice]"""
_OWN = "lehrling"


def stated_licence(metadata: Message) -> str:
    """Return the licence as the part's metadata states it, the most exact field first; empty where it states none."""
    expression = metadata.get("License-Expression", "").strip()
    if expression:
        return expression
    classes = [line.rsplit("::", 1)[-1].strip() for line in metadata.get_all("Classifier", [])
               if line.startswith("License ::")]
    first_line = metadata.get("License", "").strip().split("\n")[0].strip()
    is_name = 0 < len(first_line) <= 60 and first_line != "UNKNOWN"
    return first_line if is_name else ", ".join(classes)


def texts_of(part: Distribution) -> list[Path]:
    """Return the files of the part that hold its licence, in the order of their names."""
    found = []
    for file in part.files or ():
        in_metadata = any(folder.endswith(".dist-info") for folder in file.parts[:-1])
        if in_metadata and file.name.lower().startswith(_TEXTS):
            found.append(Path(str(part.locate_file(file))))
    return sorted(file for file in found if file.is_file())


def write_notices(site: Path, own_licence: Path, out: Path) -> list[str]:
    """Write ``copyright`` and the texts; return the names of the parts that say nothing of a licence.

    Parameters
    ----------
    site
        The ``site-packages`` of the package.
    own_licence
        The licence of Lehrling itself.
    out
        The package's folder of documents.
    """
    lines = ["Lehrling", "", own_licence.read_text(encoding="utf-8").strip(), "", "",
             "The package also carries the following parts, each under its own licence, as it states itself.",
             "The texts that come with a part are in /usr/share/doc/lehrling/licences.", ""]
    unstated = []
    for part in sorted(distributions(path=[str(site)]), key=lambda found: found.name.lower()):
        if part.name.lower() == _OWN:
            continue
        licence = stated_licence(part.metadata)
        folder = out / "licences" / part.name.lower()
        texts = texts_of(part)
        if not licence and not texts:
            unstated.append(part.name)
        for number, text in enumerate(texts):
            folder.mkdir(parents=True, exist_ok=True)
            target = folder / text.name
            shutil.copyfile(text, target if not target.exists() else folder / f"{number}-{text.name}")
        lines.append(f"{part.name} {part.version}: {licence or 'as its text says'}"
                     + ("" if texts else " (it carries no text of it)"))
    out.mkdir(parents=True, exist_ok=True)
    (out / "copyright").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return unstated


if __name__ == "__main__":
    missing = write_notices(*map(Path, sys.argv[1:4]))
    if missing:
        sys.exit(f"notices.py: these parts say nothing of a licence: {', '.join(missing)}.")

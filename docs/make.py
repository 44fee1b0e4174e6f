"""Runs the commands whose output the documents show, and puts what they print into them.

    python docs/make.py            write the outputs and pictures anew
    python docs/make.py --check    only say what has changed; exit code 1 then

A shown command stands in a document as ``<!-- output: COMMAND -->`` before its code block. Where it writes
a picture into docs/, that picture is made and compared too. What stands between ``<!-- study -->`` and
``<!-- end -->`` is read off the newest study in docs/figures/.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path
from textwrap import wrap

ROOT = Path(__file__).parents[1]
DOCUMENTS = ("README.md", "DEVELOPERS.md", "systemd/README.md")
PAGES = {"docs/words.md": "docs/words.py"}
"""Pages made whole, and what prints them."""
BLOCK = re.compile(r"(<!-- output: (?P<command>[^\n]+) -->\n```text\n)(?P<shown>.*?)(```\n)", re.DOTALL)
STUDY = re.compile(r"(<!-- study -->\n).*?(<!-- end -->\n)", re.DOTALL)
RUN = "import sys; from daemon.cli import main; sys.exit(main())"
LONGEST_S = 120


def output_of(command: str, pictures: Path) -> str:
    """Return what a shown block holds: the command as a maker types it, and what it prints.

    Parameters
    ----------
    command
        ``lehrling …`` as the document has it, or ``python -m …``.
    pictures
        Folder that pictures meant for docs/ are written into.
    """
    words = shlex.split(command)
    arguments = [str(pictures / word.removeprefix("docs/")) if word.startswith("docs/") else word
                 for word in words[1:]]
    run = arguments if words[0] == "python" else ["-c", RUN, *arguments]
    ran = subprocess.run([sys.executable, *run], cwd=ROOT, capture_output=True, text=True,
                         timeout=LONGEST_S, check=False, stdin=subprocess.DEVNULL)
    if ran.returncode not in (0, 3):
        raise SystemExit(f"{command}: exit code {ran.returncode}\n{ran.stderr}")
    printed = ran.stdout.replace(str(pictures), "docs")
    return f"$ {command}\n{printed.rstrip()}\n"


def renewed(text: str, pictures: Path) -> str:
    """Return a document with the output of every shown command, and the newest study's figures, as they are now."""
    text = STUDY.sub(lambda block: block[1] + "\n".join(studied(newest_study())) + "\n" + block[2], text)
    return BLOCK.sub(lambda block: block[1] + output_of(block["command"], pictures) + block[4], text)


def newest_study() -> Path:
    """Return the file of the newest study that is kept; its name begins with its day."""
    return max((ROOT / "docs" / "figures").glob("study-*.md"), key=lambda path: path.stem)


def studied(path: Path) -> list[str]:
    """Return in plain lines how often a study's clean firings woke, and how much of what was wrong it found."""
    text = path.read_text(encoding="utf-8")
    clean = re.search(r"^\| clean \| (?P<fired>\d+) \| [\d.]+ \| (?P<woken>[\d.]+) \|", text,
                      re.MULTILINE)
    found = re.search(r"^Required alerts found: (?P<share>[\d.]+) % of (?P<all>\d+); serious ones at rank wake: "
                      r"(?P<wake>[\d.]+) % of (?P<serious>\d+);", text, re.MULTILINE)
    if clean is None or found is None:
        raise SystemExit(f"{path}: holds no figures of clean firings, or none of what was found.")
    woken = round(float(clean["woken"]) * int(clean["fired"]) / 1000)
    return wrap(
        f"It is not there yet. In the newest [study](docs/figures/{path.name}), on simulated kilns, {woken} of "
        f"{clean['fired']} firings with nothing wrong woke somebody all the same "
        f"({float(clean['woken']):.0f} in 1,000; the aim is 1). "
        f"Of {found['all']} things that went wrong and had to be told it told {found['share']} %; "
        f"of the {found['serious']} serious ones it woke for {found['wake']} %. "
        "A simulated kiln is not yours: believe Lehrling after some firings of your own.",
        width=114, break_on_hyphens=False)


def printed(script: str) -> str:
    """Return what a script of this folder prints."""
    ran = subprocess.run([sys.executable, str(ROOT / script)], cwd=ROOT, capture_output=True, text=True,
                         timeout=LONGEST_S, check=False, stdin=subprocess.DEVNULL)
    if ran.returncode != 0:
        raise SystemExit(f"{script}: exit code {ran.returncode}\n{ran.stderr}")
    return ran.stdout


def main(check: bool) -> int:
    """Renew or check every document; return 1 where ``check`` found a change."""
    changed = []
    with tempfile.TemporaryDirectory() as folder:
        pictures = Path(folder) if check else ROOT / "docs"
        for name in (*DOCUMENTS, *PAGES):
            path = ROOT / name
            old = path.read_text(encoding="utf-8") if path.exists() else ""
            new = printed(PAGES[name]) if name in PAGES else renewed(old, pictures)
            if new != old:
                changed.append(name)
                if not check:
                    path.write_text(new, encoding="utf-8")
        for made in sorted(Path(folder).iterdir()):
            kept = ROOT / "docs" / made.name
            if not kept.exists() or kept.read_bytes() != made.read_bytes():
                changed.append(f"docs/{made.name}")
    for name in changed:
        sys.stdout.write(f"{name}: {'differs; run docs/make.py' if check else 'renewed'}\n")
    return 1 if check and changed else 0


if __name__ == "__main__":
    sys.exit(main(check="--check" in sys.argv[1:]))

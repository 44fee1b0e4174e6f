"""Runs the commands whose output the documents show, and puts what they print into them.

    python docs/make.py              write the outputs and drawings anew
    python docs/make.py --check      only say what has changed; exit code 1 then
    python docs/make.py --screens    photograph the page anew for README.md (docs/screens.py; five minutes)

A shown command stands in a document as ``<!-- output: COMMAND -->`` before its code block. With
``<!-- output: COMMAND | paragraph START -->`` only the paragraph of its output that begins with START is shown. Where
the command writes a picture into docs/, that picture is made and compared too. ``lehrling-demo`` is a data folder of
the demonstration, made for it. What stands between ``<!-- study -->``
and ``<!-- end -->`` is read off the newest study in docs/figures/. What stands between ``<!-- contents -->`` and
``<!-- end -->`` are links to the document's own headings. ``<!-- screens -->`` says which version the
photographs show; they are not compared.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
import tempfile
from atexit import register
from datetime import UTC, datetime
from functools import cache
from importlib.metadata import version
from pathlib import Path
from shutil import rmtree
from textwrap import wrap

from daemon.store.database import FILE_NAME, create_database
from simulations.firing import DEFAULT_KILN
from simulations.plant.builds import PRESETS
from simulations.studio.demo_folder import PRICE
from simulations.studio.seed import KILN_NAME, seed_studio
from web.documents import anchor_of

ROOT = Path(__file__).parents[1]
PAGES = {"docs/archive-schema.json": "docs/archive_schema.py", "docs/mqtt-state-schema.json": "docs/mqtt_schema.py",
         "docs/words.md": "docs/words.py"}
"""Files made whole, and what prints them."""
DOCUMENTS = tuple(
    name for name in sorted(
        path.relative_to(ROOT).as_posix()
        for pattern in ("*.md", "docs/**/*.md", "systemd/*.md") for path in ROOT.glob(pattern))
    if name not in PAGES and not name.startswith("docs/figures/"))
BLOCK = re.compile(
    r"(?P<head><!-- output: (?P<command>[^\n|]+?)(?: \| paragraph (?P<start>[^\n]+?))? -->\n```text\n)"
    r"(?P<shown>.*?)(?P<foot>```\n)", re.DOTALL)
STUDY = re.compile(r"(<!-- study -->\n).*?(<!-- end -->\n)", re.DOTALL)
CONTENTS = re.compile(r"(<!-- contents -->\n).*?(<!-- end -->\n)", re.DOTALL)
SCREENS = re.compile(r"(<!-- screens -->\n).*?(<!-- end -->\n)", re.DOTALL)
PHOTOGRAPHS = ("docs/page-phone.png", "docs/page-desktop.png")
"""What docs/screens.py takes."""
CODE = ("hw", "daemon", "web", "simulations")
STUDIO = "lehrling-demo"
"""What a shown command calls the data folder of the demonstration; it is run on one that is made for it."""
RUN = "import sys; from daemon.cli import main; sys.exit(main())"
LONGEST_S = 120


@cache
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
    arguments = [str(pictures / word.removeprefix("docs/")) if word.startswith("docs/") else
                 str(studio()) if word == STUDIO else word for word in words[1:]]
    run = arguments if words[0] == "python" else ["-c", RUN, *arguments]
    ran = subprocess.run([sys.executable, *run], cwd=ROOT, capture_output=True, text=True,
                         timeout=LONGEST_S, check=False, stdin=subprocess.DEVNULL)
    if ran.returncode not in (0, 3):
        raise SystemExit(f"{command}: exit code {ran.returncode}\n{ran.stderr}")
    printed = ran.stdout.replace(str(pictures), "docs")
    return f"$ {command}\n{printed.rstrip()}\n"


@cache
def studio() -> Path:
    """Return a data folder with the demonstration's invented past, as ``lehrling demo`` makes it."""
    folder = Path(tempfile.mkdtemp())
    register(rmtree, folder)
    db = create_database(folder / FILE_NAME)
    seed_studio(db, datetime(2026, 5, 20, 12, tzinfo=UTC))
    db.close()
    power_kw = PRESETS[DEFAULT_KILN].power_w / 1000
    (folder / "lehrling.toml").write_text(
        f'[kiln]\nname = "{KILN_NAME}"\npower_kw = {power_kw}\nprice_per_kwh = {PRICE}\ncurrency = "€"\n',
        encoding="utf-8")
    return folder


def renewed(text: str, pictures: Path) -> str:
    """Return a document with its contents, every shown command's output and the newest study's figures as now."""
    text = CONTENTS.sub(lambda block: f"{block[1]}{contents(text)}{block[2]}", text)
    text = STUDY.sub(lambda block: block[1] + "\n".join(studied(newest_study())) + "\n" + block[2], text)
    return BLOCK.sub(
        lambda block: block["head"] + shown(block["command"], block["start"], pictures) + block["foot"], text)


def shown(command: str, start: str | None, pictures: Path) -> str:
    """Return what a block shows: the whole output, or its paragraph that begins with ``start``."""
    output = output_of(command, pictures)
    if start is None:
        return output
    chosen = [paragraph for paragraph in output.split("\n\n") if paragraph.startswith(start)]
    if len(chosen) != 1:
        raise SystemExit(f"{command}: {len(chosen)} paragraphs of its output begin with {start!r}; one is needed.")
    return f"$ {command}\n…\n{chosen[0].rstrip()}\n"


def contents(text: str) -> str:
    """Return a list of links to the main headings of a document."""
    prose = re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)
    headings = re.findall(r"^## (.+)$", prose, re.MULTILINE)
    return "".join(f"- [{heading}](#{anchor_of(heading)})\n" for heading in headings)


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
        f"In the newest [study](docs/figures/{path.name}) on our own bench, of {path.stem.removeprefix('study-')}, "
        f"{woken} of {clean['fired']} ordinary firings with nothing wrong woke somebody all the same "
        f"({float(clean['woken']):.0f} in 1,000; the aim is 1). Of {found['all']} things that went wrong and had to "
        f"be told, {found['share']} % were told; of {found['serious']} serious ones, {found['wake']} % woke. In "
        f"those {found['all']} cases there were also {other_wakes(text)} wakes that nobody had asked for.",
        width=118, break_on_hyphens=False)


def other_wakes(study: str) -> int:
    """Return the sum of the column "other wakes" over the rows of a study's table."""
    lines = [line.strip("|").split("|") for line in study.splitlines() if line.startswith("|")]
    rows = [[cell.strip() for cell in line] for line in lines]
    column = next((row.index("other wakes") for row in rows if "other wakes" in row), None)
    if column is None:
        raise SystemExit("the study holds no column of other wakes.")
    heads = next(number for number, row in enumerate(rows) if "other wakes" in row)
    return sum(int(row[column]) for row in rows[heads + 2:])


def printed(script: str, longest_s: float = LONGEST_S) -> str:
    """Return what a script of this folder prints."""
    ran = subprocess.run([sys.executable, str(ROOT / script)], cwd=ROOT, capture_output=True, text=True,
                         timeout=longest_s, check=False, stdin=subprocess.DEVNULL)
    if ran.returncode != 0:
        raise SystemExit(f"{script}: exit code {ran.returncode}\n{ran.stderr}")
    return ran.stdout


def photographed(text: str) -> str:
    """Return README.md with the version that the photographs were taken from: the last commit that changed code."""
    commit = subprocess.run(["git", "log", "-1", "--date=short", "--format=commit %h of %cd", "--", *CODE], cwd=ROOT,
                            capture_output=True, text=True, timeout=LONGEST_S, check=True).stdout.strip()
    note = f"*Taken from version {version('lehrling')}, {commit}.*"
    return SCREENS.sub(lambda block: f"{block[1]}{note}\n{block[2]}", text)


def photograph() -> int:
    """Take the pictures of the page, and note in README.md what they show."""
    sys.stdout.write(printed("docs/screens.py", longest_s=900))
    readme = ROOT / "README.md"
    readme.write_text(photographed(readme.read_text(encoding="utf-8")), encoding="utf-8")
    return 0


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
    sys.exit(photograph() if "--screens" in sys.argv[1:] else main(check="--check" in sys.argv[1:]))

"""Benchmarks are run by hand, so that nothing else would notice that one no longer begins."""

import importlib
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[1] / "benchmarks"
NAMES = sorted(path.stem for path in FOLDER.glob("*.py") if not path.stem.startswith("_"))


@pytest.mark.parametrize("name", NAMES)
def test_a_benchmark_can_be_begun(name, monkeypatch):
    monkeypatch.syspath_prepend(str(FOLDER.parent))
    assert callable(importlib.import_module(f"benchmarks.{name}").main)

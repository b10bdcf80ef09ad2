"""A data folder on disk and the commands that work on it, each in a process of its own."""

import json
import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Book:
    """A data folder."""

    home: Path

    @property
    def environment(self) -> dict[str, str]:
        """What its commands are told; the tests' own settings do not reach them."""
        said = {name: value for name, value in os.environ.items() if "DJANGO" not in name}
        for name in [name for name in said if name.startswith("TURNWELL_")]:
            del said[name]
        return {**said, "TURNWELL_HOME": str(self.home)}

    @property
    def database(self) -> Path:
        """Its database."""
        return self.home / "turnwell.sqlite3"

    @property
    def evidence(self) -> list[Path]:
        """The files at their places."""
        return sorted((self.home / "evidence").glob("??/*"))

    def run(self, *words: str) -> subprocess.CompletedProcess[str]:
        """Run a command of turnwell."""
        return self.python(
            "import sys; from turnwell.cli.main import main; sys.exit(main())", words
        )

    def python(self, code: str, words: tuple[str, ...] = ()) -> subprocess.CompletedProcess[str]:
        """Run some Python that has this data folder as its own."""
        return subprocess.run(
            [sys.executable, "-c", code, *words],
            env=self.environment,
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
        )

    def report(self) -> dict[str, Any]:
        """Give what ``turnwell check --json`` says."""
        return dict(json.loads(self.run("check", "--json").stdout))

    def ask(self, sql: str, *values: object) -> list[tuple[Any, ...]]:
        """Ask the database, or change it."""
        with closing(sqlite3.connect(self.database)) as database, database:
            return database.execute(sql, values).fetchall()

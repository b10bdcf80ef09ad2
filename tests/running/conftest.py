"""Books to work on."""

import shutil
from pathlib import Path

import pytest

from tests.running.book import Book


@pytest.fixture(scope="session")
def made_book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Give a book with one job and two papers, to be left as it is."""
    book = Book(tmp_path_factory.mktemp("book") / "home")
    made = book.python("from tests.running.make_book import make_book; make_book()")
    assert made.returncode == 0, made.stderr
    return book


@pytest.fixture(scope="session")
def made_backup(made_book: Book, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a backup of that book."""
    path = tmp_path_factory.mktemp("backup") / "book.zip"
    made = made_book.run("backup", str(path))
    assert made.returncode == 0, made.stderr
    return path


@pytest.fixture
def book(made_book: Book, tmp_path: Path) -> Book:
    """Give a copy of that book, to do anything with."""
    return Book(Path(shutil.copytree(made_book.home, tmp_path / "home")))


@pytest.fixture
def empty(tmp_path: Path) -> Book:
    """Give a data folder that is not there yet."""
    return Book(tmp_path / "empty")

"""The style files: colours and type sizes by token only, and no rule that nothing uses."""

import re
from pathlib import Path

import pytest

import turnwell.web

WEB = Path(turnwell.web.__file__).parent
STYLES = WEB / "shared" / "static" / "turnwell"
ROOMS = sorted(path.name for path in STYLES.glob("*.css") if path.name != "tokens.css")
# Put together while a page is drawn: the first part stands in a template or tag.
PUT_TOGETHER = ("chart__at--", "field--", "message--", "trip--", "verdict--", "weektable__cell--")
COLOUR = re.compile(r"#[0-9A-Fa-f]{3,8}\b|\b(?:rgb|hsl|oklch)a?\(")
SIZE = re.compile(r"font-size:(?!\s*(?:var|inherit))|font:[^;}]*?[\d.]+(?:rem|px|pt)\s*/")


def _rules(name: str) -> str:
    text = (STYLES / name).read_text(encoding="utf-8")
    return re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)


def _classes(rules: str) -> set[str]:
    selectors = re.findall(r"([^{}]+)\{", rules)
    return {name for one in selectors for name in re.findall(r"\.([a-zA-Z][\w-]*)", one)}


def _words_of_pages() -> set[str]:
    sources = [*WEB.parent.rglob("*.html"), *WEB.parent.rglob("*.py"), *STYLES.glob("*.js")]
    words: set[str] = set()
    for path in sources:
        words |= set(re.findall(r"[a-zA-Z][\w-]*", path.read_text(encoding="utf-8")))
    return words


@pytest.mark.parametrize("name", ROOMS)
def test_only_the_tokens_name_colours_and_sizes(name: str) -> None:
    rules = _rules(name)
    assert COLOUR.findall(rules) == []
    assert SIZE.findall(rules) == []


@pytest.mark.parametrize("name", [*ROOMS, "tokens.css"])
def test_every_block_is_closed(name: str) -> None:
    rules = _rules(name)
    assert rules.count("{") == rules.count("}")
    # A condition within a condition is a lost brace here; none is meant.
    assert re.findall(r"@media[^{]*\{\s*@media", rules) == []


def test_no_rule_is_dead() -> None:
    known = _words_of_pages()
    dead = {
        f"{name}: .{one}"
        for name in ROOMS
        for one in _classes(_rules(name))
        if one not in known and not one.startswith(PUT_TOGETHER)
    }
    assert dead == set()


def test_every_token_is_used() -> None:
    tokens = set(re.findall(r"(--[a-z][\w-]*):", _rules("tokens.css")))
    used = {one for path in STYLES.glob("*.*s*") for one in _uses(path)}
    assert tokens - used == set()


def test_every_token_used_is_there() -> None:
    tokens = set(re.findall(r"(--[a-z][\w-]*):", _rules("tokens.css")))
    used = {one for name in ROOMS for one in _uses(STYLES / name)}
    assert used - tokens == set()


@pytest.mark.parametrize(
    ("front", "ground"),
    [
        (front, ground)
        for front in ("ink", "ink-soft", "brass", "brass-dark", "within", "outside", "unproven")
        for ground in ("paper", "paper-deep")
    ]
    + [("paper", "brass"), ("paper", "brass-dark"), ("ink", "brass-wash"), ("paper", "ink")],
)
def test_text_stands_out_from_its_ground(front: str, ground: str) -> None:
    # WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1; relative luminance as defined there.
    colours = dict(re.findall(r"--([\w-]+):\s*(#[0-9A-F]{6})", _rules("tokens.css")))
    light, dark = sorted((_luminance(colours[front]), _luminance(colours[ground])), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_the_formula_of_contrast_gives_the_known_extreme() -> None:
    assert (_luminance("#FFFFFF") + 0.05) / (_luminance("#000000") + 0.05) == pytest.approx(21)


def _uses(path: Path) -> list[str]:
    return re.findall(r"var\((--[a-z][\w-]*)\)", path.read_text(encoding="utf-8"))


def _luminance(colour: str) -> float:
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue

"""What the words above a column say of it, in the languages sterilizers print."""

import re
import unicodedata
from dataclasses import dataclass

__all__ = ["Said", "names_vacuum", "said_by", "strange_unit_in", "zero_in"]

# Beginnings of words, without accents; a name of one place is not looked for in another's.
ROLES: dict[str, tuple[str, ...]] = {
    "set": (
        "set",
        "soll",
        "consign",
        "target",
        "nominal",
        "ziel",
        "zadan",
        "impostat",
        "уставк",
        "theor",
        "teor",
        "satur",
        "gesatt",
        "calcul",
        "теор",
        "理论",
        "理論",
    ),
    "stage": (
        "phase",
        "stage",
        "step",
        "schritt",
        "etap",
        "fase",
        "faza",
        "asama",
        "стад",
        "фаз",
        "阶段",
        "階段",
        "段階",
        "工程",
        "단계",
        "state",
        "status",
        "vaihe",
        "event",
        "programmsch",
    ),
    "lethality": ("f0", "lethal"),
    "temperature": (
        "temperat",
        "teplot",
        "sicaklik",
        "lampotila",
        "homersek",
        "темп",
        "温",
        "溫",
        "온도",
        "θερμ",
        "hitze",
    ),
    "pressure": (
        "press",
        "druck",
        "presion",
        "pressao",
        "tryck",
        "tryk",
        "cisnien",
        "tlak",
        "basinc",
        "давл",
        "压",
        "壓",
        "圧",
        "압력",
        "πιεσ",
        "paine",
        "nyomas",
        "vacu",
        "vaku",
        "vacio",
        "vide",
        "vuoto",
        "presiun",
    ),
    "date": ("date", "datum", "fecha", "data", "дата", "日期", "日付", "날짜", "tarih", "dato"),
    "time": (
        "time",
        "zeit",
        "uhr",
        "heure",
        "hora",
        "tiempo",
        "tijd",
        "tid",
        "czas",
        "cas",
        "zaman",
        "saat",
        "врем",
        "час",
        "时间",
        "時間",
        "時刻",
        "시간",
        "χρον",
        "ωρα",
        "aika",
        "ido",
        "elapsed",
        "dauer",
        "duration",
        "clock",
        "orario",
        "godz",
        "moment",
    ),
    "counter": (
        "nr",
        "no",
        "index",
        "row",
        "count",
        "lfd",
        "id",
        "num",
        "zeile",
        "sample",
        "record",
    ),
}
EXACT: dict[str, str] = {
    "temps": "time",
    "tempo": "time",
    "ora": "time",
    "t": "",
    "temp": "temperature",
    "tmp": "temperature",
    "tc": "temperature",
    "tk": "temperature",
    "p": "pressure",
    "timestamp": "time",
    "datetime": "time",
    "n": "counter",
    "fo": "lethality",
    "set": "set",
}
LOOSE = ("druck", "temperat", "zeit", "tryk", "soll", "druk")
PLACES: dict[str, tuple[str, ...]] = {
    "other": ("jacket", "mantel", "envelop", "camicia", "camisa", "chaqueta", "plaszcz",
              "plast", "ceket",
              "рубаш", "夹套", "wall", "generator", "boiler", "kessel",
              "dampferz", "ambient", "door"),
    "load": ("load", "probe", "product", "belad", "last", "charge", "carga", "carico", "lading"),
    "chamber": ("chamber", "kammer", "chambre", "camara", "camera", "kamer", "komora", "hazne",
                "камер", "腔", "室", "drain"),
}  # fmt: skip
UNITS = (
    ("mmHg", r"mm\s?hg|torr|мм\s?рт"), ("inHg", r"in\.?\s?hg|\"\s?hg|inch(es)?\s?hg"),
    ("kg/cm2", r"kgf?\s?/\s?cm|кгс?\s?/\s?см"), ("mbar", r"mbar|hpa\b|hpa"), ("kPa", r"kpa|кпа"),
    ("MPa", r"mpa|мпа"), ("psi", r"psi"), ("bar", r"bar|бар"), ("Pa", r"(?<![a-z])pa(?![a-z])"),
)  # fmt: skip
_ABSOLUTE = re.compile(
    r"abs|\ba\)|\(a\)|(?:psi|kpa|bar|mpa)\s?a\b|assol|ассол|абс|絶対|绝对", re.IGNORECASE
)
_GAUGE = re.compile(
    r"gauge|gage|\brel|relat|uberdr|\(g\)|(?:psi|kpa|bar|mpa)\s?g\b|manom|изб|表压|ゲージ",
    re.IGNORECASE,
)
_BRACKETED = re.compile(r"[\[(]([^\])]+)[\])]\s*$")
LONGEST_UNIT = 8
_WORD = re.compile(r"[^\W\d_]+\d?")


@dataclass(frozen=True, slots=True)
class Said:
    """What a heading says: role, place, unit and zero, each "" where it is silent."""

    role: str = ""
    place: str = ""
    unit: str = ""
    zero: str = ""


def said_by(heading: str) -> Said:
    """Read the words above a column.

    >>> said_by("Kammerdruck [bar abs]")
    Said(role='pressure', place='chamber', unit='bar', zero='absolute')
    """
    plain = _plain(heading)
    words = _WORD.findall(plain)
    unit = _unit(plain, heading)
    role = _role(words)
    if unit in {"C", "F"} and role in {"", "time"}:
        role = "temperature" if role == "" or "temps" not in words else role
    elif unit and unit not in {"s", "min", "h", "C", "F"} and role in {"", "temperature"}:
        role = "pressure"
    if role == "" and "t" in words and _begins(words, (*PLACES["other"], *PLACES["chamber"])):
        role = "temperature"
    place = next((p for p, stems in PLACES.items() if _begins(words, stems)), "")
    return Said(role, place, unit, zero_in(plain) if role == "pressure" else "")


def names_vacuum(heading: str) -> bool:
    """Tell a heading of vacuum alone.

    >>> names_vacuum("Vacuum (inHg)"), names_vacuum("Vacuum/pressure")
    (True, False)
    """
    words = _WORD.findall(_plain(heading))
    vacuum = _begins(words, ("vacu", "vaku", "vacio", "vide", "vuoto", "真空", "진공"))
    return vacuum and not _begins(words, ("press", "druck", "presion", "tlak", "压力"))


def strange_unit_in(heading: str) -> str:
    """Give what stands in brackets where a unit does and is none that is known; "" else.

    >>> strange_unit_in("pressure [atm]"), strange_unit_in("Druck (Kammer)")
    ('atm', '')
    """
    found = _BRACKETED.search(heading)
    if found is None or said_by(heading).unit:
        return ""
    inside = found.group(1).strip()
    words = _WORD.findall(_plain(inside))
    if zero_in(inside) or any(_begins(words, stems) for stems in PLACES.values()):
        return ""
    return inside if words and len(inside) <= LONGEST_UNIT else ""


def zero_in(text: str) -> str:
    """Tell whether a pressure is called absolute or gauge; "" where it is not said."""
    plain = _plain(text)
    absolute, gauge = bool(_ABSOLUTE.search(plain)), bool(_GAUGE.search(plain))
    if absolute == gauge:
        return ""
    return "absolute" if absolute else "gauge"


def _plain(text: str) -> str:
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(mark for mark in apart if not unicodedata.combining(mark)).replace("ı", "i")


def _begins(words: list[str], stems: tuple[str, ...]) -> bool:
    return any(
        word.startswith(stem) or (stem in word and (len(stem) >= 4 or not stem.isascii()))
        for word in words
        for stem in stems
    )


def _role(words: list[str]) -> str:  # noqa: PLR0911 - the first word that speaks is heard
    if _begins([word for word in words if word != "setzen"], ROLES["set"]):
        return "set"
    exact = [EXACT[word] for word in words if word in EXACT]
    if exact and exact[0]:
        return exact[0]
    for role in ("lethality", "temperature", "pressure", "stage", "date", "time"):
        if any(w.startswith(s) for w in words for s in ROLES[role]):
            return role
    for word in words:
        for stem in LOOSE:
            if stem in word:
                return (
                    "pressure"
                    if stem.startswith(("dru", "try"))
                    else ("temperature" if stem == "temperat" else "time")
                )
    if any(re.fullmatch(r"t[1-9]", word) for word in words):
        return "temperature"
    if any(re.fullmatch(r"p[1-9]", word) for word in words):
        return "pressure"
    return "counter" if _begins(words[:1], ROLES["counter"]) or not words else ""


def _unit(plain: str, heading: str) -> str:
    for unit, pattern in UNITS:
        if re.search(pattern, plain):
            return unit
    found = re.search(
        r"(?:°|º|deg\.?|℃|℉|[\[(])\s*([cf])(?![a-z])|(℃)|(℉)|grad|celsius|fahrenheit",
        heading.casefold(),
    )
    if found:
        return "F" if "f" in found.group() or "℉" in found.group() else "C"
    found = re.search(r"[\[(,/]\s*(s|sec|sek|seconds|min|minutes|h)\.?\s*[\])]?\s*$", plain)
    if found:
        return {"m": "min", "h": "h"}.get(found.group(1)[0], "s")
    if re.search(r"second|sekund|segund", plain):
        return "s"
    return (
        "min"
        if re.search(r"minut", plain)
        else ("F" if plain.strip().endswith(" f") else "C" if plain.strip().endswith(" c") else "")
    )

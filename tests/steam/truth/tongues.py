"""Words that sterilizers print over their columns and for their stages, in ten languages."""

from dataclasses import dataclass

__all__ = ["TONGUES", "Tongue"]


@dataclass(frozen=True, slots=True)
class Tongue:
    """Words of one language; `stages` in the order of a run."""

    elapsed: str
    clock: str
    date: str
    temperature: str
    chamber: str
    jacket: str
    target: str
    pressure: str
    stage: str
    number: str
    stages: tuple[str, str, str, str, str, str]


TONGUES: dict[str, Tongue] = {
    "en": Tongue(
        "Elapsed time",
        "Time",
        "Date",
        "Temperature",
        "Chamber temperature",
        "Jacket temperature",
        "Set temperature",
        "Pressure",
        "Phase",
        "No.",
        ("Air removal", "Heating", "Sterilizing", "Exhaust", "Drying", "Venting"),
    ),
    "de": Tongue(
        "Zeit",
        "Uhrzeit",
        "Datum",
        "Temperatur",
        "Kammertemperatur",
        "Manteltemperatur",
        "Solltemperatur",
        "Druck",
        "Phase",
        "Nr.",
        ("Entlüften", "Aufheizen", "Sterilisieren", "Dampfablass", "Trocknen", "Belüften"),
    ),
    "fr": Tongue(
        "Temps",
        "Heure",
        "Date",
        "Température",
        "Température chambre",
        "Température double enveloppe",
        "Température de consigne",
        "Pression",
        "Phase",
        "N°",
        ("Purge d'air", "Chauffage", "Stérilisation", "Échappement", "Séchage", "Rentrée d'air"),
    ),
    "es": Tongue(
        "Tiempo",
        "Hora",
        "Fecha",
        "Temperatura",
        "Temperatura cámara",
        "Temperatura camisa",
        "Temperatura de consigna",
        "Presión",
        "Fase",
        "N.º",
        ("Vacío", "Calentamiento", "Esterilización", "Descarga", "Secado", "Entrada de aire"),
    ),
    "it": Tongue(
        "Tempo",
        "Ora",
        "Data",
        "Temperatura",
        "Temperatura camera",
        "Temperatura camicia",
        "Temperatura impostata",
        "Pressione",
        "Fase",
        "N.",
        ("Vuoto", "Riscaldamento", "Sterilizzazione", "Scarico", "Asciugatura", "Ingresso aria"),
    ),
    "pt": Tongue(
        "Tempo",
        "Hora",
        "Data",
        "Temperatura",
        "Temperatura da câmara",
        "Temperatura da camisa",
        "Temperatura definida",
        "Pressão",
        "Fase",
        "N.º",
        ("Vácuo", "Aquecimento", "Esterilização", "Descarga", "Secagem", "Entrada de ar"),
    ),
    "nl": Tongue(
        "Verstreken tijd",
        "Tijd",
        "Datum",
        "Temperatuur",
        "Kamertemperatuur",
        "Manteltemperatuur",
        "Ingestelde temperatuur",
        "Druk",
        "Fase",
        "Nr.",
        ("Ontluchten", "Opwarmen", "Steriliseren", "Afblazen", "Drogen", "Beluchten"),
    ),
    "pl": Tongue(
        "Czas trwania",
        "Czas",
        "Data",
        "Temperatura",
        "Temperatura komory",
        "Temperatura płaszcza",
        "Temperatura zadana",
        "Ciśnienie",
        "Faza",
        "Nr",
        ("Próżnia", "Nagrzewanie", "Sterylizacja", "Wydmuch", "Suszenie", "Napowietrzanie"),
    ),
    "sv": Tongue(
        "Förfluten tid",
        "Tid",
        "Datum",
        "Temperatur",
        "Kammartemperatur",
        "Manteltemperatur",
        "Börvärde temperatur",
        "Tryck",
        "Fas",
        "Nr",
        ("Avluftning", "Uppvärmning", "Sterilisering", "Avblåsning", "Torkning", "Luftintag"),
    ),
    "cs": Tongue(
        "Uplynulý čas",
        "Čas",
        "Datum",
        "Teplota",
        "Teplota komory",
        "Teplota pláště",
        "Nastavená teplota",
        "Tlak",
        "Fáze",
        "Č.",
        ("Odvzdušnění", "Ohřev", "Sterilizace", "Odpuštění", "Sušení", "Zavzdušnění"),
    ),
}

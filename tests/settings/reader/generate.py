"""Settings files made up at random, with known truth: words of six languages, shuffled.

Every name is put together from words of the trade by chance, so no program's keys are
here. A share of the words is replaced by words that do not exist.
"""

from __future__ import annotations

import json
import random
from typing import NamedTuple

WORDS = {
    "layer": "layer Schicht couche capa strato camada",
    "height": "height Höhe hauteur altura altezza altura",
    "first": "first erste première primera primo primeira",
    "line": "line Linie ligne línea linea linha",
    "width": "width Breite largeur ancho larghezza largura",
    "wall": "wall Wand paroi pared parete parede",
    "count": "count Anzahl nombre cantidad numero número",
    "top": "top obere supérieures superiores superiori superiores",
    "bottom": "bottom untere inférieures inferiores inferiori inferiores",
    "layers": "layers Schichten couches capas strati camadas",
    "infill": "infill Füllung remplissage relleno riempimento preenchimento",
    "density": "density Dichte densité densidad densità densidade",
    "pattern": "pattern Muster motif patrón motivo padrão",
    "nozzle": "nozzle Düse buse boquilla ugello bico",
    "size": "diameter Durchmesser diamètre diámetro diametro diâmetro",
    "temperature": "temperature Temperatur température temperatura temperatura temperatura",
    "bed": "bed Bett plateau cama piatto mesa",
    "fan": "fan Lüfter ventilateur ventilador ventola ventilador",
    "outer": "outer äußere extérieure exterior esterna externa",
    "inner": "inner innere intérieure interna interna interna",
    "speed": "speed Geschwindigkeit vitesse velocidad velocità velocidade",
    "travel": "travel Leerfahrt déplacement desplazamiento spostamento deslocamento",
    "support": "support Stütze supports soporte supporto suporte",
    "brim": "brim Haftrand bordure ala tesa aba",
    "retract": "retraction Rückzug rétraction retracción ritrazione retração",
    "length": "length Länge longueur longitud lunghezza comprimento",
    "acceleration": "acceleration Beschleunigung accélération aceleración accelerazione aceleração",
    "overhang": "overhang Überhang surplomb voladizo sbalzo saliência",
    "angle": "angle Winkel angle ángulo angolo ângulo",
    "min": "minimum Mindest minimal mínimo minimo mínimo",
    "time": "time Zeit temps tiempo tempo tempo",
    "max": "maximum höchste maximal máximo massimo máximo",
    "flow": "flow Durchsatz débit caudal flusso fluxo",
    "lift": "lift Anhebung levée elevación sollevamento elevação",
    "material": "material Werkstoff matière material materiale material",
    "overlap": "overlap Überlappung recouvrement solape sovrapposizione sobreposição",
    "raft": "raft Floß radeau balsa zattera jangada",
    "standby": "standby Bereitschaft veille reposo attesa espera",
    "thin": "thin dünne mince delgada sottile fina",
    "detection": "detection Erkennung détection detección rilevamento detecção",
    "solid": "solid volle pleine sólido pieno sólido",
}
ABBREVIATIONS = {"layer": "lyr", "height": "ht", "width": "wd", "temperature": "temp"} | {
    "speed": "spd",
    "nozzle": "noz",
    "density": "dens",
    "length": "len",
    "acceleration": "acc",
}
NAMES = {
    "layer_mm": ("layer height?", "mm", (0.1, 0.3)),
    "first_layer_mm": ("first layer height", "mm", (0.15, 0.35)),
    "line_width_mm": ("line width", "mm", (0.4, 0.6)),
    "nozzle_mm": ("nozzle size?", "mm", (0.4, 0.6)),
    "walls": ("wall count?", "", (2, 6)),
    "top_layers": ("top layers count?", "", (3, 7)),
    "bottom_layers": ("bottom layers", "", (3, 7)),
    "infill": ("infill density?", "%", (10, 45)),
    "nozzle_c": ("nozzle temperature?", "°C", (195, 260)),
    "bed_c": ("bed temperature?", "°C", (45, 100)),
    "fan": ("fan speed?", "%", (10, 95)),
    "speed_mm_s.outer_wall": ("outer wall speed", "mm/s", (20, 45)),
    "speed_mm_s.inner_walls": ("inner wall speed", "mm/s", (45, 70)),
    "speed_mm_s.sparse_fill": ("infill speed", "mm/s", (60, 99)),
    "speed_mm_s.solid_fill": ("solid infill speed", "mm/s", (40, 60)),
    "speed_mm_s.travel": ("travel speed", "mm/s", (120, 220)),
    "acceleration_mm_s2": ("acceleration", "mm/s²", (500, 3000)),
    "retract_mm": ("retract length?", "mm", (0.5, 1.5)),
    "lift_mm": ("lift height?", "mm", (0.1, 0.4)),
    "overhang_deg": ("overhang angle?", "°", (40, 60)),
    "brim_mm": ("brim width?", "mm", (3, 9)),
    "layer_time_min_s": ("min layer time", "s", (5, 15)),
    "flow_max_mm3_s": ("max flow", "mm³/s", (5, 20)),
    "support": ("support", "switch", ()),
    "material": ("material", "material", ()),
}
"""Key -> the words that say it, its unit, and between what its value lies.

A word with ? may be left out where the unit stands beside the value or key.
"""

TRAPS = {
    "support layer height": "mm", "wall speed": "mm/s", "raft wall count": "", "layer count": "",
    "standby temperature": "°C", "thin wall detection": "switch", "infill overlap": "%",
    "first layer speed": "mm/s", "support infill density": "%", "retract speed": "mm/s",
    "raft line width": "mm", "standby nozzle temperature": "°C", "support wall count": "",
    "first layer nozzle temperature": "°C", "infill line width": "mm", "min fan speed": "%",
    "bed size": "mm", "support fan speed": "%", "wall line width": "mm", "top line width": "mm",
}  # fmt: skip
"""Words that say something else, however near it is."""

COUNTED = {"walls", "top_layers", "bottom_layers"}
YES = (("yes", "no"), ("ja", "nein"), ("oui", "non"), ("sí", "no"), ("sì", "no"), ("sim", "não"))
UNIT_WORDS = {"mm": "mm", "%": "pct", "°C": "C", "mm/s": "mm_s", "mm/s²": "mm_s2", "s": "s"} | {
    "°": "deg",
    "mm³/s": "mm3_s",
    "": "",
    "switch": "",
    "material": "",
}


class Made(NamedTuple):
    """A text, what it says in the neutral keys, and how many words of its keys are unknown."""

    text: str
    truth: dict[str, object]
    form: str
    words: int
    unknown: int


def made(seed: int, *, unknown: float = 0.05) -> Made:
    """Return a file of 25 true keys and 12 traps in random words and form."""
    return _Maker(random.Random(seed), unknown).file()


class _Maker:
    """Makes one file; everything follows from the random numbers."""

    def __init__(self, chance: random.Random, unknown: float) -> None:
        self.chance, self.share = chance, unknown
        self.language = chance.randrange(6)
        self.style = chance.choice(["camel", "snake", "kebab", "blank", "title"])
        self.unit_at = chance.choice(["value", "key", "bracket", "mixed"])
        self.comma = chance.random() < 0.4

    def file(self) -> Made:
        truth: dict[str, object] = {}
        lines: list[tuple[list[str], object, str]] = []
        for key, (words, unit, between) in NAMES.items():
            value, written = self.value(key, unit, between)
            truth[key] = value
            lines.append((self.name(words), written, unit))
        for words in self.chance.sample(sorted(TRAPS), 12):
            unit = TRAPS[words]
            _, written = self.value("", unit, (1, 90) if unit in ("mm/s", "%") else (1, 9))
            lines.append((self.name(words), written, unit))
        self.chance.shuffle(lines)
        self.forget([words for words, _, _ in lines])
        lines = [(self.joined(words), written, unit) for words, written, unit in lines]
        form = self.chance.choice(["ini", "pairs", "json", "records", "yaml", "xml", "csv", "toml"])
        text = getattr(self, form)(lines)
        return Made(text=text, truth=truth, form=form, words=self.words, unknown=self.unknown)

    def value(self, key: str, unit: str, between: tuple[float, ...]) -> tuple[object, object]:
        """Return the true value and how it is written."""
        if unit == "switch":
            on = self.chance.random() < 0.5
            return on, YES[self.language][0 if on else 1]
        if unit == "material":
            name = self.chance.choice(["PLA", "PETG", "ABS", "ASA"])
            return name.lower(), name
        low, high = between
        whole = low >= 1
        number = (
            self.chance.randint(int(low), int(high))
            if whole
            else round(self.chance.uniform(low, high), 2)
        )
        return (number / 100 if unit == "%" else number), number

    def forget(self, names: list[list[str]]) -> None:
        """Replace a share of all words by words that do not exist."""
        places = [(name, at) for name in names for at in range(len(name))]
        self.words, self.unknown = len(places), round(self.share * len(places))
        for name, at in self.chance.sample(places, self.unknown):
            pairs = (self.chance.choice("bdgklmnprtvz") + self.chance.choice("aou") for _ in "abc")
            name[at] = "".join(pairs) + "x"

    def name(self, words: str) -> list[str]:
        """Return the words of a name in a random order and language."""
        drop = self.chance.random() < 0.3
        every = [word.rstrip("?") for word in words.split() if not (drop and word.endswith("?"))]
        if self.chance.random() < 0.7:
            self.chance.shuffle(every)
        return [self.word(each) for each in every]

    def word(self, word: str) -> str:
        language = self.language if self.chance.random() < 0.85 else self.chance.randrange(6)
        if language == 0 and word in ABBREVIATIONS and self.chance.random() < 0.3:
            return ABBREVIATIONS[word]
        return WORDS[word].split()[language]

    def joined(self, words: list[str]) -> str:
        if self.style == "camel":
            return words[0].lower() + "".join(word.capitalize() for word in words[1:])
        if self.style == "title":
            return " ".join(word.capitalize() for word in words)
        return {"snake": "_", "kebab": "-", "blank": " "}[self.style].join(map(str.lower, words))

    def spelt(self, name: str, value: object, unit: str) -> tuple[str, str]:
        """Return key and value as text, the unit where this file puts it."""
        text = str(value)
        if self.comma and isinstance(value, float):
            text = text.replace(".", ",")
        if unit in ("", "switch", "material"):
            return name, text
        place = self.unit_at if self.unit_at != "mixed" else self.chance.choice(["value", "key"])
        if place == "value":
            return name, f"{text} {unit}"
        return (f"{name}_{UNIT_WORDS[unit]}" if place == "key" else f"{name} [{unit}]"), text

    def ini(self, lines):
        head = self.chance.choice(["[General]", "[Profile]", "[Druck]"])
        return "\n".join([head, *(f"{k} = {v}" for k, v in self.every(lines))]) + "\n"

    def pairs(self, lines):
        return "".join(f"{key}: {value}\n" for key, value in self.every(lines))

    def json(self, lines):
        return json.dumps({"profile": dict(self.every(lines))}, ensure_ascii=False, indent=1)

    def records(self, lines):
        rows = [
            {"name": n, "value": str(v), "unit": "" if u in ("switch", "material") else u}
            for n, v, u in lines
        ]
        return json.dumps(rows, ensure_ascii=False, indent=1)

    def yaml(self, lines):
        pairs = (f'  "{key}": "{value}"\n' for key, value in self.every(lines))
        return "settings:\n" + "".join(pairs)

    def toml(self, lines):
        return "".join(f'"{key}" = "{value}"\n' for key, value in self.every(lines))

    def csv(self, lines):
        return "".join(f"{key};{value}\n" for key, value in self.every(lines))

    def xml(self, lines):
        pairs = (f'  <item name="{key}" value="{value}"/>\n' for key, value in self.every(lines))
        return "<profile>\n" + "".join(pairs) + "</profile>\n"

    def every(self, lines):
        """Return pairs of text, no key twice."""
        return list(dict(self.spelt(*line) for line in lines).items())

"""One word for one thing, the trade's, in the catalogue of each language.

Each row: the thing, its word in the language, where the word is from, and words that stand for it
nowhere, since a person at the machine would take them for something else or for a second thing.
"""

from __future__ import annotations

import re

import pytest
from message_templates import ROOT

PRACTICE = "common practice, no source"
MEMORY = "from memory, not looked up"

# thing, its word, source, patterns that stand for it nowhere
GERMAN = (
    ("setup", "Aufspannung", PRACTICE, (r"Spannung(en)? (?!\{)", r"\bSpannung\b")),
    ("holding", "Spannmittel", PRACTICE, ()),
    ("stock", "Rohteil", PRACTICE, (r"Rohmaterial", r"Halbzeug")),
    ("wheel blank", "Rohling", PRACTICE, ()),
    ("job file", "Auftragsdatei", PRACTICE, (r"Arbeitsdatei", r"Jobdatei")),
    ("machine file", "Maschinendatei", PRACTICE, (r"Postprozessor",)),
    ("step", "Arbeitsgang", PRACTICE, (r"kein Schritt dieses",)),
    ("pocket", "Ausfräsung", PRACTICE, (r"(?i)ausdrehung", r"\bTasche")),
    ("opening", "Durchbruch", PRACTICE, (r"Öffnung",)),
    ("slot", "Langloch", PRACTICE, (r"Schlitz",)),
    ("floor", "Boden", PRACTICE, (r"\bGründe\b", r"einen Grund von")),
    ("bore by milling", "Loch ausfräsen", PRACTICE, ()),
    ("boring bar", "Bohrstange", PRACTICE, (r"(?i)ausdreh",)),
    ("form disc", "Formscheibenfräser", PRACTICE, (r"FORMSCHEIBE\b", r"Formscheibe\b")),
    ("dividing head", "Teilapparat", PRACTICE, (r"\bApparat", r"Teilkopf")),
    ("tooth space", "Lücke", "DIN ISO 21771 (Zahnlücke), " + MEMORY, (r"Zwischenraum",)),
    ("arc-second", "Winkelsekunde", PRACTICE, (r"Bogensekunde", r"Bogenminute")),
    ("run-out", "Rundlauffehler", "DIN EN ISO 1101 has Rundlauf, " + MEMORY, (r"gesamter Schlag",)),
    ("check-sum", "Prüfsumme", PRACTICE, (r"check-sum: Summe",)),
    ("proof", "Nachweis, erfüllt", PRACTICE, (r"gelingt", r"gelingen", r"nicht bewiesen")),
    ("work offset", "Nullpunktverschiebung", "DIN 66025, " + MEMORY, ()),
    ("class of a fit", "Toleranzklasse", "DIN EN ISO 286-1, " + MEMORY, (r"eine Passung",)),
    ("withdrawing to clear chips", "Entspanen", PRACTICE, (r"(?i)spanbrechen",)),
    ("cutting a thread by hand", "Gewinde schneiden", PRACTICE, (r"von Hand bohren",)),
    ("record", "Protokoll", PRACTICE, (r"Aufzeichnung",)),
    ("end-shake", "Höhenluft", PRACTICE, (r"Endspiel", r"Axialspiel")),
)
FRENCH = (
    ("setup", "prise", PRACTICE, (r"Montage", r"montage \{", r"ce montage", r"le montage",
                                  r"serrages")),
    ("holding", "maintien", PRACTICE, (r"la fixation",)),
    ("stock", "brut", PRACTICE, ()),
    ("wheel blank", "ébauche", PRACTICE, (r"flan\b",)),
    ("job", "travail", PRACTICE, (r"tâche",)),
    ("machine file", "fichier machine", PRACTICE, (r"fichiers? de (la )?machine",)),
    ("step", "opération", PRACTICE, (r"aucune étape",)),
    ("pocket", "creusure", PRACTICE, (r"\bpoche",)),
    ("tooth space", "entredent", "ISO 1122-1 in French, " + MEMORY, (r"(?i)entre-dents?",
                                                                     r"un creux est fini")),
    ("dedendum", "creux", "ISO 1122-1 in French, " + MEMORY, ()),
    ("crossing out", "croisage", PRACTICE, (r"(?i)croisillons",)),
    ("countersink", "fraisure", "NF EN ISO 129, " + MEMORY, (r"(?i)noyure",)),
    ("end mill", "fraise deux tailles", PRACTICE, (r"(?i)fraise en bout",)),
    ("fly cutter", "fraise à une dent", PRACTICE, (r"outil mouche",)),
    ("form disc", "fraise disque de forme", PRACTICE, (r"(?i)fraise-disque",)),
    ("boring bar", "barre d'alésage", PRACTICE, (r"grain d'alésage",)),
    ("engraver", "pointe à graver", PRACTICE, (r"(?i)burin",)),
    ("thread", "filetage", PRACTICE, (r"\bfilets?\b",)),
    ("backing", "disque martyr", PRACTICE, (r"plaque martyre", r"l'appui")),
    ("stack", "pile", PRACTICE, (r"empilage",)),
    ("tailstock", "contre-poupée", PRACTICE, (r"contre-pointe",)),
    ("sheet", "fiche", PRACTICE, (r"\bla feuille\b",)),
    ("safe height", "hauteur sûre", PRACTICE, (r"safe-height: Dégagement",)),
    ("pair of wheels", "paire", "couple is torque", (r"le couple tourne",)),
    ("caliper", "pied à coulisse", "calibre is a gauge, or a movement", (r"au calibre",)),
    ("fault", "erreur", PRACTICE, (r"\b(une|la|en|\{n\}) fautes?\b",)),
    ("facing", "surfaçage", PRACTICE, (r"dressage",)),
)
ROWS = [*(("de", *row) for row in GERMAN), *(("fr", *row) for row in FRENCH)]


def said(language: str) -> str:
    """What a catalogue says, without the English that it is looked up by."""
    text = (ROOT / "words" / "texts" / f"{language}.yaml").read_text(encoding="utf-8")
    return re.sub(r'^  "(?:[^"\\]|\\.)*":', "  :", text, flags=re.MULTILINE)


@pytest.mark.parametrize("language", ["de", "fr"])
def test_one_word_stands_for_one_thing(language: str) -> None:
    text = said(language)
    found = [(thing, word, match[0]) for spoken, thing, word, _, never in ROWS
             if spoken == language for pattern in never for match in re.finditer(pattern, text)]
    assert found == []


@pytest.mark.parametrize(("language", "thing", "word"), [row[:3] for row in ROWS])
def test_the_word_is_used(language: str, thing: str, word: str) -> None:
    text = said(language).lower()
    assert all(part in text for part in re.split(r", | ", word.lower())), thing


def unspaced(text: str) -> list[str]:
    """Signs of two parts set close to their word, but for the words and characters of files."""
    return re.findall(r"[^\W\d_)}][;!?](?=\s)", text)


def test_every_french_sign_of_two_parts_has_a_space_before_it() -> None:
    assert unspaced("trop grand; en prendre") == ["d;"]
    assert unspaced(said("fr")) == []

"""One word for one thing: where a message says one of the project's words in English, its translation says that word's own.

The words are those of DEVELOPERS.md and the trade; their translations are the table of docs/languages.md, of which the
beginnings stand here, so that a plural and a gender pass.
"""

import re

import pytest

from scripts import words

TRADE = {
    "batch(es)?": {"es": "lote", "fr": "lot"},
    "vessels?": {"es": "recipiente", "fr": "récipient"},
    "units?": {"es": "equipo|unidad", "fr": "enceinte|unité"},
    "probes?": {"es": "sonda", "fr": "sonde"},
    "placements?": {"es": "colocaci", "fr": "mise en place|placement"},
    "products?": {"es": "product", "fr": "produit"},
    "the readings?": {"es": "lectura", "fr": "relevé"},
    "critical limits?": {"es": "límites? crítico", "fr": "limites? critique"},
    "clauses?": {"es": "apartado", "fr": "article"},
    "verdicts?": {"es": "veredicto", "fr": "verdict"},
    "findings?": {"es": "constataci", "fr": "constat"},
    "deviations?": {"es": "desviaci", "fr": "écart"},
    "corrective actions?": {"es": "medidas? correctora", "fr": "actions? corrective"},
    "calibration": {"es": "calibraci", "fr": "étalonnage"},
    "discard times?": {"es": "horas? de desecho", "fr": "heures? limite"},
    "TCS food": {"es": "alimentos? TCS", "fr": "aliments? TCS"},
    "hazards?": {"es": "peligro", "fr": "danger"},
    "manager": {"es": "responsable", "fr": "responsable"},
    "officer": {"es": "inspec", "fr": "inspec"},
    "alerts?": {"es": "aviso", "fr": "alerte"},
    "use-by": {"es": "caducidad", "fr": "limite de consommation"},
    "shelf life": {"es": "vida útil", "fr": "durée de vie"},
    "gaps?": {"es": "interrupci", "fr": "interruption"},
    "surroundings": {"es": "entorno", "fr": "environnement"},
    "seals?": {"es": "sello", "fr": "scellé"},
    "digest": {"es": "huella", "fr": "empreinte"},
    "broker": {"es": "servidor de mensajes", "fr": "serveur de messages"},
    "logger": {"es": "registrador", "fr": "enregistreur"},
    "blast chiller": {"es": "abatidor", "fr": "cellule de refroidissement"},
    "ice bath": {"es": "baño de hielo", "fr": "bain d'eau glacée"},
    "walk-in": {"es": "cámara", "fr": "chambre froide"},
    "pastry cream": {"es": "crema pastelera", "fr": "crème pâtissière"},
    "meringue": {"es": "merengue", "fr": "meringue"},
    "sponge": {"es": "bizcocho", "fr": "génoise"},
    "allergens?": {"es": "alérgeno", "fr": "allergène"},
}
NOT_SAID = re.compile(r"\{[^}]*\}|`[^`]*`|holdwatch [a-z ]+|/[a-z]+")
"""Fields, and what is typed as it stands."""


@pytest.mark.parametrize("language", ["es", "fr"])
def test_each_word_of_the_trade_is_translated_one_way(language: str) -> None:
    """In whatever message it stands, of a count in the first form."""
    wrong = []
    for message in words.catalog(language):
        first = [each if isinstance(each, str) else each[0] for each in (message.id, message.string)]
        said, translated = NOT_SAID.sub("", first[0]), first[1]
        for word, own in TRADE.items():
            if re.search(rf"(?<!\w)(?:{word})(?!\w)", said, re.IGNORECASE) and not re.search(
                own[language], translated, re.IGNORECASE
            ):
                wrong.append((word, first))
    assert wrong == []


def test_french_has_its_space_before_high_signs() -> None:
    """Before : ; ? and ! stands a space that does not break, U+00A0 (Imprimerie nationale, *Lexique des règles*)."""
    forms = [
        form
        for message in words.catalog("fr")
        if message.id
        for form in ([message.string] if isinstance(message.string, str) else message.string)
    ]
    assert [form for form in forms if re.search(r"[ \w»](?<!0[g%])[:;?!](?=\s|$)", form)] == []

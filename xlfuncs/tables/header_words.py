"""Words that people type in lists, in six languages: headings, yes and no, covers, totals, months.

One table of words for every reader. To add a language, add its words to these; to add a word for
one list alone, a line in its mapping file does. Letters are compared without case and accents
(`plain`), so `Länge` stands here as `lange`.
"""

import re
import unicodedata
from functools import lru_cache

from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.beds import OPEN_GROUND, PLASTIC_MULCH, TUNNEL
from xlfuncs.tables.ledger_words import LEDGER_HEADINGS

# By the name of the column: English stands in the tables themselves; here German, French, Spanish,
# Dutch and Italian, a line each.
_HEADINGS = {
    "bed": """
        beds
        beet, beet name, beet number, beetnummer, beetname, beete, kultur beet, parzelle, schlag
        planche, nom planche, number planche, planches, parcelle, carre
        cama, bancal, cantero, parcela, nombre cama, nombre
        bednummer, bednaam, perceel, teelbed, bedden
        aiuola, proda, aiuole, parcella, nome aiuola
    """,
    "strips": """
        streifen, pflanzstreifen
        bandes
        franjas
        stroken
        strisce
    """,
    "strip_width": """
        breite, beetbreite, streifenbreite, pflanzbreite
        largeur, largeur planche, largeur cultivee
        ancho, anchura, ancho cama, anchura bancal
        breedte, bedbreedte, plantbreedte
        larghezza, larghezza aiuola, larghezza coltivata
    """,
    "length": """
        lange, beetlange, reihenlange, lfm, laufmeter, lfd m
        longueur, longueur planche, long
        longitud, largo, longitud cama, largo cama
        lengte, bedlengte, rijlengte
        lunghezza, lunghezza aiuola, lunghezza fila
    """,
    "bed_top_width": """
        beetkrone, kronenbreite, gesamtbreite, beetbreite
        largeur totale, largeur planche
        ancho total, anchura total
        totale breedte, bovenbreedte
        larghezza totale
    """,
    "line": """
        schlauch, schlauchtyp, schlauchart, tropfschlauch, tropfband, tropfleitung, leitungstyp
        type ligne, type gaine, gaine, goutte a goutte
        tipo cinta, cinta, tipo linea, manguera
        slang, slangtype, druppelslang, soort slang
        tipo ala, ala gocciolante, tipo manichetta, manichetta
    """,
    "laterals": """
        schlauche, tropfschlauche, tropfleitungen, leitungen, linien, tropflinien, schlauche beet
        lignes, gaines, tuyaux, rampes, lignes planche, lignes goutte a goutte
        cintas, lineas, mangueras, laterales, lineas goteo, cintas cama
        slangen, druppelslangen, lijnen, druppellijnen, slangen bed
        ali gocciolanti, ali, linee, manichette, tubi, linee aiuola
    """,
    "distance": """
        entfernung, abstand, entfernung hahn, abstand hahn, entfernung wasserhahn, abstand anschluss
        distance robinet, distance vanne, distance source, distance prise eau, eloignement
        distancia, distancia grifo, distancia llave, distancia toma
        afstand, afstand kraan, afstand bron
        distanza, distanza rubinetto, distanza presa
    """,
    "main_pipe": """
        hauptleitung, zuleitung
        conduite, conduite principale, tuyau principal
        tuberia, tuberia principal
        hoofdleiding, leiding
        condotta, tubo principale
    """,
    "elevation": """
        hohe, hohe uber hahn
        altitude, denivele
        altura, desnivel
        hoogte
        altezza, quota, dislivello
    """,
    "slope": """
        gefalle, neigung
        pente
        pendiente
        helling
        pendenza
    """,
    "valve": """
        ventil, kreis, zone
        vanne, secteur
        valvula, sector
        klep, ventiel
        valvola, settore
    """,
    "cover": """
        abdeckung, mulch
        couverture, paillage, abri
        cubierta, acolchado
        afdekking
        copertura, pacciamatura
    """,
    "on": """
        in betrieb, betrieb, bewassert, an, an aus, aktiv
        irriguee, irrigue, arrosee, arrose, en service, active, marche
        riego, regada, regado, activa, activo, en uso
        aan, aan uit, actief, in gebruik, bewaterd
        attiva, attivo, irrigata, irrigato, in uso
    """,
    "date": """
        datum, tag, bis, zeitraum bis, ablesedatum, lesedatum, ablesung am, leistungsdatum, monat
        jour, au, periode au, fin periode, date releve, date fin, mois
        fecha, dia, hasta, periodo hasta, fecha lectura, fecha fin, mes
        dag, tot, t m, tot en met, periode tot, einddatum, periode t m, opnamedatum, maand
        data, giorno, al, periodo al, fine periodo, data lettura, mese
    """,
    "rain": """
        regen, niederschlag
        pluie, precipitations
        lluvia, precipitacion
        neerslag
        pioggia, precipitazioni
    """,
    "max_temperature": """
        hochsttemperatur, temperatur max, max temperatur
        temperature max, temperature maximale
        temperatura maxima, temperatura max
        maximumtemperatuur, hoogste temperatuur
        temperatura massima
    """,
    "min_temperature": """
        tiefsttemperatur, temperatur min, min temperatur
        temperature min, temperature minimale
        temperatura minima, temperatura min
        minimumtemperatuur, laagste temperatuur
    """,
    "notes": """
        bemerkung, bemerkungen, notiz, notizen, anmerkung, hinweis
        remarque, remarques, commentaire, observations
        observaciones, observacion, comentario, notas
        opmerking, opmerkingen, notitie
        note, nota, osservazioni, commento
    """,
    **LEDGER_HEADINGS,
}


def _words(text: str) -> frozenset[str]:
    """Words parted by commas, or by blanks where there is no comma."""
    parts = text.split(",") if "," in text else text.split()
    return frozenset(" ".join(part.split()) for part in parts)


YES = _words("""yes, y, true, on, x, 1, active, running, watered, planted, irrigated, ok, ✓, ✔,
    in use,
    ja, j, wahr, an, aktiv, in betrieb, oui, o, vrai, en service, si, s, verdadero, verdad, en uso,
    waar, aan, actief, in gebruik, vero, attivo, attiva, in uso""")
RESTING = _words("""fallow, resting, brache, brach, brach liegend, jachere, en jachere, barbecho,
    en barbecho, descanso, braak, maggese, incolto, riposo, a riposo""")
NO = RESTING | _words("""no, n, false, off, -, 0, inactive, closed, unused, none, not used,
    nein, falsch, aus, inaktiv, non, faux, arret, falso, nee, onwaar, uit, spento""")
_OPEN = _words("""none, no, bare, field, outdoor, outdoors, outside, straw, uncovered, bare ground,
    open ground, offen, freiland, keine, ohne, exterieur, aucun, aucune, plein champ, libre,
    ninguna,
    aire libre, buiten, geen, aperto, nessuna, campo aperto, pieno campo""")
_PLASTIC = _words("""plastic, black plastic, film, plastic film, poly mulch, folie, mulchfolie,
    bache,
    film plastique, plastico, acolchado plastico, plastic folie, telo, film plastico""")
_TUNNEL = _words("""high tunnel, poly tunnel, polytunnel, hoop house, hoophouse, greenhouse,
    caterpillar tunnel, folientunnel, gewachshaus, serre, invernadero, tunel, kas, serra""")
COVERS = {
    **dict.fromkeys(_OPEN, OPEN_GROUND),
    **dict.fromkeys(_PLASTIC, PLASTIC_MULCH),
    **dict.fromkeys(_TUNNEL, TUNNEL),
}
_MONTHS = (
    "january januar janner janvier enero januari gennaio",
    "february februar feber fevrier febrero februari febbraio",
    "march marz maerz mars marzo maart mrt", "april avril abril aprile",
    "may mai mayo mei maggio", "june juni juin junio giugno", "july juli juillet julio luglio",
    "august aout agosto augustus", "september septembre septiembre setiembre settembre",
    "october oktober octobre octubre ottobre", "november novembre noviembre",
    "december dezember decembre diciembre dicembre",
)  # fmt: skip
_TOTAL = re.compile(
    r"(?:(?:sub|grand|zwischen|teil|end|sous|somme)[- ]?)?(?:totals?|totale|totales|totaal|summe)"
    r"(?:[ :(].*)?|gesamt(?:summe)?(?: .*)?|insgesamt|sums?(?: .*)?|somme|suma|somma|"
    r"averages?|avg|mean|mittel(?:wert)?|durchschnitt|moyenne|media|promedio|gemiddelde|"
    r"(?:opening |closing )?balance(?: .*)?|saldo|eindtotaal|count of .*|.+[- ]total(?:s|e|es)?"
)
_SMALL = _words("""of the a to per for each in des der die das je pro vom zum zur von de du la le
    les
    l au aux par el los las al por del d van het tot dal alla della delle di da""")
_COUNTS = _words("""no nr num n nº n° no° anzahl nombre nb nbre numero num° aantal number nummer
    cantidad""")
_SHORT = {
    "len": "length", "lgth": "length", "lth": "length", "wid": "width", "wdth": "width",
    "dist": "distance", "elev": "elevation", "qty": "number", "ct": "count", "typ": "type",
    "ln": "line", "lns": "lines", "lat": "lateral", "lats": "laterals", "str": "strip",
    "bd": "bed", "l": "length", "w": "width", "larg": "largeur", "lungh": "lunghezza",
    "largh": "larghezza", "anch": "ancho", "lg": "lange", "br": "breite",
}  # fmt: skip


@lru_cache(maxsize=4096)
def plain(text: str) -> str:
    """Lower case, without accents, marks and double spaces; what counts is called a number."""
    words = text.replace("#", " number ").replace("º", "°").replace("n°", "number ")
    words = words.replace("N°", "number ").casefold()
    words = "".join(c for c in unicodedata.normalize("NFKD", words) if not unicodedata.combining(c))
    return " ".join(re.sub(r"[_\-./:*?]+", " ", words).split())


def content(text: str) -> frozenset[str]:
    """The words of plain text that carry its meaning, spelt out, whatever their order."""
    words = (_SHORT.get(word, word) for word in text.split())
    return frozenset("number" if word in _COUNTS else word for word in words) - _SMALL


@lru_cache(maxsize=1024)
def names_of(column: Column) -> tuple[frozenset[str], frozenset[str]]:
    """The plain headings of a column: its own, and the other words for it in every language."""
    own = frozenset({plain(column.header), plain(column.name)})
    lines = _HEADINGS.get(column.name, "").replace("\n", ",").split(",")
    typed = frozenset(
        plain(word) for word in (*column.synonyms, *column.former, *lines) if word.strip()
    )
    return own, typed - own


def flag_of(word: str) -> bool | None:
    """Yes or no in any of the languages; None for another word."""
    bare = plain(word) or word.strip()
    return True if bare in YES else False if bare in NO else None


def month_of(word: str) -> int | None:
    """The month of a name or of its first letters, three or more; None where several begin so."""
    bare = plain(word)
    found = [number for number, names in enumerate(_MONTHS, 1)
             if len(bare) > 2 and any(name.startswith(bare) for name in names.split())]  # fmt: skip
    return found[0] if len(found) == 1 else None


def is_total(words: str) -> bool:
    """Whether the words of a cell call its row a sum, an average or a balance."""
    return bool(_TOTAL.fullmatch(plain(words).strip(" =")))

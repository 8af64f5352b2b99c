"""The ledger: what was used and paid, one row an entry, and the readings of the water meter."""

import re

from xlfuncs.tables.columns import table

# What the usual kinds are counted in: the dimension whose default unit in the workbook's system
# every quantity of the kind is in, so that one kind has one unit. Other kinds may be added.
KINDS = {
    "water": "billed_volume",
    "sewer": "billed_volume",
    "electricity": "energy",
    "tape": "length",
    "drip line": "length",
    "tubing": "length",
    "fittings": "count",
    "filters": "count",
    "labour": "hours",
}

# Words for kinds, in files and their names; several are written in one with others.
KIND_WORDS = {
    "water": "wasser trinkwasser frischwasser eau eaux agua acqua acquedotto drinkwater",
    "sewer": "sewage wastewater abwasser schmutzwasser assainissement alcantarillado saneamiento"
    " riool fognatura",
    "electricity": "strom elektrizität électricité electricidad elektriciteit stroom elettricità"
    " electric power energia energie luz kwh",
    "labour": "labor arbeit lohn travail trabajo arbeid lavoro",
}  # fmt: skip
# Words for what is counted in pieces.
PIECES = """
    ea each pc pcs pce piece pieces unit units x roll rolls reel coil pack packs packet pkt pkg
    package sack sacks bag bags box boxes case carton can bottle bucket tray pair pairs set sets
    bundle pallet stück stck stk st rolle rollen packung packungen säcke beutel karton
    kiste paar satz bund dose flasche eimer ve gebinde pièce pièces rouleau rouleaux
    sac sacs sachet boîte carton paquet lot bidon ud uds unidad unidades pieza piezas rollo rollos
    saco sacos bolsa bolsas caja cajas paquete bote stuk stuks rol rollen pak zak zakken doos
    pz pezzi pezzo nr rotolo rotoli sacco sacchi busta buste scatola scatole confezione conf
    """
_CANCELLED = (r"(?:cancell?ed|void(?:ed)?|storniert\w{0,2}|annulee?s?|annullat[oaie]"
              r"|(?:cancel|anul)ad[oa]s?|geannuleerd)")  # fmt: skip
is_cancelled = re.compile(
    rf"(?:(?:order|line|item|bill|invoice) )?{_CANCELLED}(?: (?:by|on|am|le|el|op) .*)?"
    rf"|.*[(\[]{_CANCELLED}[)\]]"
).fullmatch
# What is no bill in a statement of account: money that went the other way.
is_payment = re.compile(
    r"payments?(?:(?: received)?(?: (?:by|on|thank|from) .*)?| \S*\d\S*)|zahlung(?:seingang)?"
    r"|paiement|pago|betaling|pagamento|reglement|autopay.*|zahlung vom .*"
).fullmatch

LEDGER = table("Ledger")
READINGS = table("Readings")
YEARS = table("Years")

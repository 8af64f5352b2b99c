"""Headings of bills and receipts: German, French, Spanish, Dutch and Italian, a line each.

By the name of the ledger's column, in the letters of `header_words.plain`.
"""

LEDGER_HEADINGS = {
    "bill_date": """
        rechnungsdatum, belegdatum, buchungsdatum, bestelldatum, datum des belegs
        date facture, date de facture, date de la facture, date commande, date de commande
        fecha factura, fecha de factura, fecha emision, fecha de emision, fecha pedido
        factuurdatum, besteldatum, boekdatum
        data fattura, data della fattura, data ordine, data documento
    """,
    "period_start": """
        von, zeitraum von, ablesung davor, vorherige ablesung, letzte ablesung
        du, periode du, debut periode, releve precedent, date debut
        desde, periodo desde, lectura anterior, fecha inicio
        van, periode van, begindatum, vorige opname
        dal, periodo dal, inizio periodo, lettura precedente
    """,
    "kind": """
        art, kategorie, warengruppe, sparte, gruppe
        categorie, famille, nature
        categoria, tipo, familia
        soort, groep
        genere
    """,
    "item": """
        bezeichnung, artikel, beschreibung, position, leistung, produkt
        designation, libelle, article
        articulo, concepto, descripcion, producto
        omschrijving, product
        descrizione, articolo, voce, prodotto
    """,
    "quantity": """
        menge, verbrauch, anzahl, verbrauchsmenge
        quantite, consommation, conso, qte
        cantidad, consumo, unidades
        aantal, hoeveelheid, verbruik
        quantita
    """,
    "unit": """
        einheit, mengeneinheit, me
        unite
        unidad, unidad de medida
        eenheid
        unita, unita di misura, um
    """,
    "amount": """
        betrag, brutto, bruttobetrag, betrag brutto, gesamtbetrag, rechnungsbetrag, gesamtpreis
        montant, montant ttc, total ttc, prix ttc
        importe, importe total, total factura, total con iva
        bedrag, bedrag incl btw, totaalbedrag, totaal incl btw
        importo, importo totale, totale, totale ivato, importo lordo
    """,
    "net": """
        netto, nettobetrag, betrag netto
        montant ht, total ht, prix ht
        base imponible, importe neto, neto
        bedrag excl btw, nettobedrag
        imponibile, importo netto
    """,
    "tax": """
        mwst, ust, umsatzsteuer, mehrwertsteuer, mwst betrag, steuer
        tva, montant tva
        iva, cuota iva
        btw, btw bedrag
        importo iva
    """,
    "currency": """
        wahrung
        devise
        moneda, divisa
        valuta
    """,
    "reference": """
        rechnung, rechnungsnummer, rechnungsnr, rechnung nr, beleg, belegnummer, belegnr
        facture, number facture, numero facture, numero de facture, piece, commande
        factura, numero factura, numero de factura, number factura, n factura, pedido
        factuur, factuurnummer, factuurnr, factuur nr, bon, ordernummer
        fattura, numero fattura, number fattura, n fattura, documento, ordine
    """,
    "meter": """
        zahler, zahlernummer, zahlernr, zahler nr
        compteur, number compteur, numero compteur, numero de compteur
        contador, numero contador, numero de contador, number contador
        meternummer, meternr
        contatore, numero contatore, matricola contatore
    """,
    "note": """
        bemerkung, hinweis, notiz, ableseart
        remarque, type releve
        observaciones, observacion, tipo lectura
        opmerking, soort opname
        nota, osservazioni, tipo lettura
    """,
}

"""The ledger: what was used and paid, one row an entry, and the readings of the water meter."""

from xlfuncs.tables.columns import Column, Table

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

LEDGER = Table(
    "Ledger",
    "One row per entry: a bill, a receipt, a day of labour. Refunds are negative.",
    (
        Column(
            "date", "Date", "date", "Date of the receipt; for a bill by meter, of its reading",
            required=True,
            synonyms=("day", "reading date", "period end", "period to", "service to", "to",
                      "month"),
        ),
        Column(
            "period_start", "Previous reading date", "date",
            "For a bill by meter, the date of the reading before: its cost is spread over the days",
            former=("reading before",),
            synonyms=("from", "period start", "period from", "bill from",
                      "service from", "start date"),
        ),
        Column(
            "kind", "Kind", "text", "What it is: every kind is counted in one unit",
            required=True,
            synonyms=("category", "type", "group", "class"),
        ),
        Column(
            "item", "Item", "text", "What was bought or done",
            synonyms=("description", "details", "article", "product", "text", "memo", "service"),
        ),
        Column(
            "quantity", "Quantity", "number",
            "In the kind's own unit; blank for fixed charges, negative for what went back",
            synonyms=("qty", "amount used", "usage", "consumption", "volume", "units",
                      "billed units", "count", "pieces", "hours"),
        ),
        Column("unit", "Unit", "text", "The kind's unit, beside the quantity",
               synonyms=("uom", "unit of measure", "units of measure")),
        Column(
            "amount", "Amount", "money", "Amount paid, tax included; a refund is negative",
            required=True,
            synonyms=("total", "amount due", "total amount", "gross", "gross amount", "charge",
                      "charges", "paid", "line total", "amount incl tax", "value", "total due",
                      "line total incl vat", "amount incl vat", "total incl vat"),
        ),
        Column("tax", "Tax included", "money", "Tax contained in the amount", default=0.0,
               former=("tax in it",),
               synonyms=("tax", "vat", "sales tax", "gst", "tax amount", "vat amount")),
        Column(
            "recoverable", "Recoverable tax", "ratio",
            "Part of the tax that comes back: 1 counts the entry net, 0 gross (default 0)",
            default=0.0, minimum=0, maximum=1,
            former=("tax that comes back",), synonyms=("tax recoverable", "reclaimable"),
        ),
        Column("currency", "Currency", "text", "Currency; one ledger has one",
               synonyms=("cur", "curr", "ccy", "currency code")),
        Column(
            "share", "Garden's share", "ratio",
            "Part that is the garden's, where a meter or a purchase is shared (default 1)",
            default=1.0, minimum=0, maximum=1, synonyms=("share", "garden share", "garden part"),
        ),
        Column(
            "reference", "Reference", "text", "Number of the bill or receipt",
            synonyms=("invoice", "invoice number", "invoice no", "invoice #", "receipt",
                      "receipt no", "bill number", "bill no", "order", "order number", "order no",
                      "document", "document no", "ref", "voucher"),
        ),
        Column("meter", "Meter", "text", "Which meter a bill is for, where there are several",
               synonyms=("meter number", "meter no", "meter id", "account", "account number",
                         "service point")),
        Column("counted", "Counted", "flag", "no leaves the entry out of every sum (default yes)",
               default=True, synonyms=("include", "included")),
        Column("note", "Note", "text", "For yourself", internal=True,
               synonyms=("notes", "remark", "remarks", "comment", "comments",
                         "read type", "reading type")),
    ),
    begins="none",
    most=50_000,
)  # fmt: skip

READINGS = Table(
    "Readings",
    "One row a reading of the water meter, in order of date.",
    (
        Column("date", "Date", "date", "Date of the reading", required=True),
        Column("reading", "Reading", "billed_volume", "What the meter shows", required=True,
               minimum=0),
        Column("estimated", "Estimated", "flag",
               "yes where the company estimated it: the true readings around it decide",
               default=False),
        Column("new_meter_reading", "New meter starts at", "billed_volume",
               "Where a new meter was fitted: its first reading; Reading is the old meter's last",
               minimum=0),
        Column("household_per_day", "Household a day", "volume",
               "What the house takes a day, if it is on the same meter", default=0.0, minimum=0),
        Column("note", "Note", "text", "For yourself", internal=True),
    ),
    begins="none",
)  # fmt: skip


YEARS = Table(
    "Years",
    "One row a year. Fill a column for every year compared, or leave it empty.",
    (
        Column("year", "Year", "count", "The year; a fiscal year by the one it ends in",
               required=True, minimum=1900, maximum=2200),
        Column("planted_area", "Planted area", "area",
               "Area planted and watered that year; the change of area is told from that of use",
               above=0),
        Column("need", "Need beyond rain", "depth",
               "Depth of water that the crops needed beyond the rain; tells weather from use",
               above=0),
        Column("note", "Note", "text", "For yourself", internal=True),
    ),
    begins="none",
)  # fmt: skip

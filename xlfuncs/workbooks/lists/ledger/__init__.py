"""The ledger out of the files of suppliers: headings, lines, kinds, bills, what is counted once."""

"""``turnwell steam``: read the records of a sterilizer."""

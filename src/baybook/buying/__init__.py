"""Orders by supplier, what came, what was billed, the match of the three, and what the jobs really used.

The core of the buying: it opens no file, prints nothing and knows no spreadsheet. Quantities and money are exact
decimals; a quantity of an order line is in the packs that it is ordered in.
"""

"""Quote and cost sheet, as PDF and as spreadsheet.

The quote is for the customer and knows nothing of costs: it is made from the quote's own rows, never from a snapshot.
The cost sheet is for the shop and is made from a snapshot alone, so that it prints the same as long as the quote is kept.
Import the modules inside the function that makes a document: they bring large libraries along.
"""

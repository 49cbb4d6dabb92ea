"""House style of what leaves the shop on paper or as a spreadsheet.

``letterhead`` and ``palette`` are light; ``pdf`` and ``sheet`` import large libraries, so import those inside the function
that makes a document.
"""

"""The week as documents: CSV for a spreadsheet, JSON for a program, a page for paper."""

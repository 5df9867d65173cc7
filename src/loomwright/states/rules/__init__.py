"""The rules asked of every state of the car, one page a family: each gives `watches` and, some, `sheet_findings`."""

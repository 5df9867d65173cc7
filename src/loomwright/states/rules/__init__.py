"""The rules asked of every state of the car, one page a family: each gives `watches`, `sheet_findings` or both."""

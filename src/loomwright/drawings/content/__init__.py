"""What belongs on a circuit's drawing, and who is joined to whom, before anybody knows where."""

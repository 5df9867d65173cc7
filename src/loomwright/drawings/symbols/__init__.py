"""Strokes, letters and the symbols of the trade's things, each round its own centre."""

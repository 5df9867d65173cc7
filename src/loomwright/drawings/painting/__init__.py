"""The strokes and words of everything at its place."""

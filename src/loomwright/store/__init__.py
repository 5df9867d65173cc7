"""How is a job kept safe, revision by revision? `shelf.Shelf` is the way in; the rest is how it keeps its word."""

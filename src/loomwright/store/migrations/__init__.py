"""How the shelf came to its shape, step by step."""

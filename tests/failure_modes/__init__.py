"""The network shows what the trade knows goes wrong: one mistake in a sound car, and the finding that tells it."""

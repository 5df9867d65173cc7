"""Random one-row changes to the mended van: an independent table says which alter it, the check must name them."""

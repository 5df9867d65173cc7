"""Which fuse way and relay way does each circuit get? (Nothing here yet.)"""

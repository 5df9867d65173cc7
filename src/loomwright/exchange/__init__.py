"""How do other open formats come in? (Nothing here yet.)"""

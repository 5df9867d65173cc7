"""How warm is a wire, alone, in a bundle, in a short? (Nothing here yet.)"""

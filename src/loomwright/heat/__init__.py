"""How warm is a wire, alone, in a bundle, after a time, in a short; how tight do wires lie in a bundle?"""

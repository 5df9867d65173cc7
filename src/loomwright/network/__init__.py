"""What are the volts and amps of the whole car, in any state, with anything unplugged, cut or bridged?"""

from loomwright.network import code_cache as _code_cache  # noqa: F401  (before any kernel is imported)

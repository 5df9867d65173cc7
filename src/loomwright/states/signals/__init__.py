"""Which wires carry signals, and what do the sheets say of them that volts cannot show?"""

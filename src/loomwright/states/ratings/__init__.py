"""What may a contact, a wire, a driver or a supply carry, and for how long?"""

"""What does a recorded drive say of this car? (Nothing here yet.)"""

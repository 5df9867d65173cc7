"""What does a browser show, at the desk and under the dash? (Nothing here yet.)"""

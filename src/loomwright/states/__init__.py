"""What is wrong with the car, in which of all its states, and why?"""

"""What is measured before power, what is expected, and where is the fault?"""

"""What does a meter that speaks SCPI read?"""

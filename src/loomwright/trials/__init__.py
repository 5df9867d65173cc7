"""What does an edit do, tried on a copy: mends, ways out, recipes, wishes with their cost? (Nothing here yet.)"""

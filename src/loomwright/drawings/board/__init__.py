"""What does the loom look like laid flat on the bench, every branch at its true length?"""

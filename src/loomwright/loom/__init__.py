"""What is cut, crimped, labelled and laid, and what does it weigh and cost?"""

"""What does a page of answers, or a recipe, add to the sheets?"""

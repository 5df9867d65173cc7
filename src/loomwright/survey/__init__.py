"""What is each old wire, what is measured next, what happens to it?"""

"""What is the next thing to do, for somebody who lies under the dash?"""

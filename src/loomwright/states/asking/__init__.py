"""How is a question asked of every state: which states, which answers, which smallest conditions?"""

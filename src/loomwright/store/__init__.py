"""How is a job kept safe, revision by revision? (Nothing here yet.)"""

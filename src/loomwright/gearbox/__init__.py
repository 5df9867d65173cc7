"""When does it change gear, judged before it is driven?"""

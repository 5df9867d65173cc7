"""Which way can or does a current take, from a source to an earth?"""

"""Does the mouth shut, and if not, what stops it?"""

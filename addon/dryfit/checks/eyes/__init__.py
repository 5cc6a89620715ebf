"""Do the lids still close, clear of the eye, and what can the performer see?"""

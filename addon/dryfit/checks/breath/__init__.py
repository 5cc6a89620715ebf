"""Are nostrils and mouth open?"""

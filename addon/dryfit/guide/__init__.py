"""The guide: its chapters as text, and the way to the pages that are built of them.

The pages are made by ``scripts/build_guide.py`` when a wheel or an extension is built, and open without a network.
"""

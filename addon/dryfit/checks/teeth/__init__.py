"""Do the lips cover the teeth, closed, at rest and in every motion?"""

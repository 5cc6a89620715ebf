"""What runs into what while the face moves?"""

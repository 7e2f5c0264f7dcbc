"""Does the driving keep it charged, and will it last another winter?"""

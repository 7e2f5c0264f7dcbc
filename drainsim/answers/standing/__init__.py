"""How long can it stand?"""

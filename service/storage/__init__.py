"""Where is everything kept, and how is it written so that an answer given is on disk?"""

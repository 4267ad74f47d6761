"""How does the migration tool reach the database and the steps?"""

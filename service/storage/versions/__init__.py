"""Which steps lead an older database to the tables of today?"""

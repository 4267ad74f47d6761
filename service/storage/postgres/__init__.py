"""How is the record kept on a PostgreSQL server?"""

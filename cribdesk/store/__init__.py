"""The data of one crib, by peewee, on SQLite or PostgreSQL."""

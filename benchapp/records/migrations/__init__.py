"""How the schema came to be, one file a change; ``database.py`` runs what is missing."""

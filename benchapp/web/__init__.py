"""The server's rooms. `app` puts them together; importing one loads no more than it needs."""

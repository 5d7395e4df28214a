"""Photos and papers: what is kept of them beside the records.

The record of an attachment travels with all others; its bytes go by their hash (SHA-256), after
the records, in pieces, and lie in a store of their own.

| module   | subject                                                             |
|----------|---------------------------------------------------------------------|
| form     | the record of an attachment                                         |
| file_type | what a file is, by its bytes                                       |
| stores   | where the bytes lie: a directory, or a store that speaks S3         |
| arriving | bytes on their way in, piece by piece                               |
| keeping  | what a server keeps for a workshop: rows and bytes together         |
| sweeping | what nothing names any more, and what has no row                    |
"""

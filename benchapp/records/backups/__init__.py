"""Backups: the whole database in one file, and back, on either database and from either.

| module      | subject                                                       |
|-------------|---------------------------------------------------------------|
| file_format | writing a backup, and reading it row by row                   |
| checks      | what a row of a backup may be                                 |
| comparing   | what is here and not in a backup                              |
| restoring   | putting a backup in, while nobody else writes                 |
| replacing   | what outlasts a restore that takes the place of all           |
| merging     | a restore beside what is here                                 |
| zones       | the time zone in which a workshop is reckoned after a restore |
| attachments | their bytes on the way into the store                         |
| rows        | rows of any table, looked up and inserted by their keys       |

Every restore gives each workshop that it touches a new era, so that phones send and read all of it
again and reminders are reckoned anew. It lets no device in and opens no calendar address that was
revoked here or in the backup, and a reminder that was sent by either is not sent again.
"""

from benchapp.records.backups.checks import BadBackup
from benchapp.records.backups.comparing import Compared, compare
from benchapp.records.backups.file_format import Counts, verify, write_backup
from benchapp.records.backups.restoring import NotEmpty, restore

__all__ = [
    "BadBackup",
    "Compared",
    "Counts",
    "NotEmpty",
    "compare",
    "restore",
    "verify",
    "write_backup",
]

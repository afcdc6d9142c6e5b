"""Django's SQLite engine with one difference: writers wait in line.

SQLite's own waiting is sleep and look again, so with thirty phones writing at once an
unlucky one waits a second while others go first. Here each transaction first takes a
place in line (turns among the threads of this process, then a lock on a file beside the
database between processes) and only then begins. PostgreSQL needs none of this.

Beside it, ``statement.py`` composes the SQL of the hottest look-ups once, for either
database.
"""

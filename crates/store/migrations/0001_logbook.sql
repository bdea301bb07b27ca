-- The logbook. Entries are only ever added; the one change made to a row is that the
-- text of its body is taken out (erased).
--
-- `head` and `body` are exact texts, over which the chain's hashes go. The other
-- columns repeat what the head says, for the sake of indexes and of quick loading.
CREATE TABLE entries (
    row         INTEGER PRIMARY KEY,
    id          BLOB    NOT NULL UNIQUE,
    replica     BLOB    NOT NULL,
    seq         INTEGER NOT NULL,
    clock       INTEGER NOT NULL,
    seen_ms     INTEGER NOT NULL,
    recorded_ms INTEGER NOT NULL,
    subject     BLOB    NOT NULL,
    kind        TEXT    NOT NULL,
    version     INTEGER NOT NULL,
    body        TEXT,
    head        TEXT    NOT NULL,
    hash        BLOB    NOT NULL
) STRICT;

CREATE INDEX entries_in_order ON entries (clock, id);
CREATE INDEX entries_by_subject ON entries (subject);
-- Not unique: a forked chain is kept and shown, not refused.
CREATE INDEX entries_by_replica ON entries (replica, seq);
-- The few entries that change how others are read, wanted first.
CREATE INDEX entries_of_prelude ON entries (clock, id) WHERE kind IN ('strike', 'same-as', 'parted');

-- Family files, column mappings and the like, by the SHA-256 of their bytes.
CREATE TABLE files (
    hash  BLOB PRIMARY KEY,
    bytes BLOB NOT NULL
) STRICT;

-- This copy of the workshop: its replica, the file it lives in, erasures so far.
CREATE TABLE copy (
    key   TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;

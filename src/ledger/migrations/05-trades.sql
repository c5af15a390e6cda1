-- More than one trade may be agreed with one partner on one day; what a later confirmation says otherwise is told.
-- Foreign keys are off while this runs: `trades` is made anew, as its key can't be widened in place.

CREATE TABLE trades_new (
    id         INTEGER PRIMARY KEY,
    partner    TEXT NOT NULL,
    agreed     TEXT NOT NULL,
    -- Which of the trades agreed with the partner on that day.
    of_day     INTEGER NOT NULL DEFAULT 1 CHECK (of_day > 0),
    state      TEXT NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'cancelled')),
    doc        TEXT NOT NULL CHECK (json_valid(doc)),
    arrived_on TEXT,
    condition  TEXT,
    -- What else the seller wrote of its coming.
    arrival_note TEXT,
    UNIQUE (partner, agreed, of_day)
) STRICT;
INSERT INTO trades_new (id, partner, agreed, state, doc, arrived_on, condition)
SELECT id, partner, agreed, state, doc, arrived_on, condition FROM trades;
DROP TABLE trades;
ALTER TABLE trades_new RENAME TO trades;

-- Told in the first manifest after.
CREATE TABLE trade_changes (
    id          INTEGER PRIMARY KEY,
    trade_id    INTEGER NOT NULL REFERENCES trades (id),
    what        TEXT NOT NULL,
    manifest_id INTEGER REFERENCES manifests (id)
) STRICT;

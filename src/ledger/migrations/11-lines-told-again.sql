-- Lines that are told otherwise, orders of which a part is called off, and callings-off that are taken back.

-- Which lines of an order one file told of together: `telling` stands for the set of them. Two lines that no file ever
-- told of together may be one line in two wordings; the order of drops changes nothing in it.
CREATE TABLE line_tellings (
    source  TEXT NOT NULL,
    number  TEXT NOT NULL,
    telling TEXT NOT NULL,
    line    TEXT NOT NULL,
    PRIMARY KEY (source, number, telling, line),
    FOREIGN KEY (source, number, line) REFERENCES order_lines (source, number, line)
) STRICT;
-- Of what was taken in before, nobody knows any more: it is left as it was.
INSERT INTO line_tellings (source, number, telling, line) SELECT source, number, 'before', line FROM order_lines;

-- Why no more of a line goes: `instead` of it another goes, or it was left out by the seller's answer; `cancelled`: the
-- seller called off what was left of its order.
ALTER TABLE order_lines ADD COLUMN off TEXT CHECK (off IN ('instead', 'cancelled'));

-- How an order stood at its source when the seller called it off; nothing where the source did.
ALTER TABLE orders ADD COLUMN cancelled_from TEXT
    CHECK (cancelled_from IN ('unpaid', 'open', 'part-refunded', 'sent'));

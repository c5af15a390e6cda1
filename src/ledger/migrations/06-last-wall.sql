-- What lies in parcels that go, went, or are to go: all but what was in cancelled ones.
CREATE VIEW live_items AS
SELECT i.rowid AS row, i.parcel_id, i.source, i.number, i.line, i.trade_id, i.item, i.code, i.quantity,
       p.ref, p.state, p.handed_over_on
FROM parcel_items i JOIN parcels p ON p.id = i.parcel_id WHERE p.state <> 'cancelled';

-- Lines and trade items of which live parcels hold more than was ordered or agreed. An order may have been told
-- smaller after it was listed: so this is looked at where pieces come in, not where the order changes.
CREATE VIEW too_many AS
SELECT i.row, i.parcel_id FROM live_items i WHERE CASE WHEN i.line IS NOT NULL THEN (
        SELECT sum(o.quantity) FROM live_items o
        WHERE o.source = i.source AND o.number = i.number AND o.line = i.line
    ) > coalesce((
        SELECT l.quantity FROM order_lines l
        WHERE l.source = i.source AND l.number = i.number AND l.line = i.line
    ), 0) ELSE (
        SELECT sum(o.quantity) FROM live_items o WHERE o.trade_id = i.trade_id AND o.item = i.item
    ) > coalesce((
        SELECT json_extract(t.doc, '$.send[' || i.item || '].quantity') FROM trades t WHERE t.id = i.trade_id
    ), 0) END;

-- The second promise's last wall, on every way in: a row that comes, a row that changes, a parcel that is no longer
-- cancelled.
DROP TRIGGER no_line_twice;

CREATE TRIGGER nothing_twice_by_a_new_row AFTER INSERT ON parcel_items
BEGIN
    SELECT RAISE(ABORT, 'a line or trade item would be sent twice')
    WHERE EXISTS (SELECT 1 FROM too_many WHERE row = NEW.rowid);
END;

CREATE TRIGGER nothing_twice_by_a_changed_row AFTER UPDATE ON parcel_items
BEGIN
    SELECT RAISE(ABORT, 'a line or trade item would be sent twice')
    WHERE EXISTS (SELECT 1 FROM too_many WHERE row = NEW.rowid);
END;

CREATE TRIGGER nothing_twice_by_a_parcel_brought_back AFTER UPDATE OF state ON parcels
WHEN OLD.state = 'cancelled' AND NEW.state <> 'cancelled'
BEGIN
    SELECT RAISE(ABORT, 'a line or trade item would be sent twice')
    WHERE EXISTS (SELECT 1 FROM too_many WHERE parcel_id = NEW.id);
END;

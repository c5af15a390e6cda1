-- Where a parcel stands is reckoned from what is recorded of it, whatever came first.

-- The number that the sheets say; `tracking` may be that of its postage.
ALTER TABLE parcels ADD COLUMN sheet_tracking TEXT;
UPDATE parcels SET sheet_tracking = tracking WHERE NOT EXISTS (
    SELECT 1 FROM postage_bought b WHERE b.parcel_id = parcels.id AND b.doc ->> '$.tracking' = parcels.tracking);

-- What sheets had said of a parcel before, as one row that is older than all others: rows were not always kept.
CREATE TABLE handoff_before (
    parcel_id INTEGER PRIMARY KEY REFERENCES parcels (id),
    doc       TEXT NOT NULL CHECK (json_valid(doc))
) STRICT;
INSERT INTO handoff_before
SELECT id, json_object('line', 0, 'sheet', '', 'parcel', ref, 'scale', json(scale), 'tracking', sheet_tracking,
    'postage_paid', json(postage_paid),
    'handed_over_on', CASE WHEN handed_over_why IS NULL THEN handed_over_on END, 'place', place, 'note', note)
FROM parcels
WHERE handed_over_on IS NOT NULL AND handed_over_why IS NULL
   OR coalesce(scale, sheet_tracking, postage_paid, place, note) IS NOT NULL;

-- The manifest that told of a receipt that should not be: of a cancelled parcel, or of one that was not handed over.
ALTER TABLE receipts ADD COLUMN told_odd INTEGER REFERENCES manifests (id);
UPDATE receipts SET told_odd = (SELECT max(id) FROM manifests) WHERE parcel_id IS NOT NULL;

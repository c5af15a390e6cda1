-- How many pieces of a line lay in live parcels at once, at most: what is due again once a parcel is taken off the list
-- was sent for already, and is no news. Where the source tells fewer, the rest is no longer asked for.
ALTER TABLE order_lines ADD COLUMN listed INTEGER NOT NULL DEFAULT 0 CHECK (listed >= 0);
UPDATE order_lines SET listed = min(quantity, coalesce((
    SELECT sum(i.quantity) FROM parcel_items i
    WHERE i.source = order_lines.source AND i.number = order_lines.number AND i.line = order_lines.line
), 0));

CREATE TRIGGER what_was_listed_stays_known AFTER INSERT ON parcel_items WHEN NEW.line IS NOT NULL
BEGIN
    UPDATE order_lines SET listed = max(listed, (
        SELECT coalesce(sum(i.quantity), 0) FROM live_items i
        WHERE i.source = NEW.source AND i.number = NEW.number AND i.line = NEW.line
    )) WHERE source = NEW.source AND number = NEW.number AND line = NEW.line;
END;

CREATE TRIGGER what_is_told_smaller_is_asked_for_no_longer AFTER UPDATE OF quantity ON order_lines
WHEN NEW.quantity < NEW.listed
BEGIN
    UPDATE order_lines SET listed = NEW.quantity
    WHERE source = NEW.source AND number = NEW.number AND line = NEW.line;
END;

-- What was called off and goes all the same is told again: it is an alarm then.
CREATE TRIGGER what_went_though_called_off_is_told AFTER UPDATE OF handed_over_on ON parcels
WHEN OLD.handed_over_on IS NULL AND NEW.handed_over_on IS NOT NULL
BEGIN
    UPDATE orders SET told_off = NULL
    WHERE state IN ('cancelled', 'refunded') AND EXISTS (
        SELECT 1 FROM parcel_items i
        WHERE i.parcel_id = NEW.id AND i.source = orders.source AND i.number = orders.number);
END;

-- Day on which the seller answered that it went, with what was called off.
ALTER TABLE parcels ADD COLUMN said_gone_on TEXT;

-- The manifest that told what the scale says of a parcel; a new reading is told anew.
ALTER TABLE parcels ADD COLUMN scale_told INTEGER REFERENCES manifests (id);

CREATE TRIGGER a_new_reading_is_told_anew AFTER UPDATE OF scale ON parcels WHEN NEW.scale IS NOT OLD.scale
BEGIN
    UPDATE parcels SET scale_told = NULL WHERE id = NEW.id;
END;

//! How much memory the rows of one file may take.
//!
//! Handed each row and cell before it is kept; promises that all rows of a file, with the copies that refused ones
//! are given back as, stay below 64 MiB. Turned down: a largest number of rows or of cells alone, which says nothing
//! of rows with one cell, or cells with one letter.

/// Bytes that the rows of one file may take: some 11,000 of forty columns, half of them filled, or 25,000 of fifteen.
/// One person packs fewer in a year (common practice, no source).
const LARGEST_TABLE: usize = 20 << 20;
/// An order weighs two kilobytes, more than a row of few cells; a refused row carries its reason with it.
const MOST_ROWS: usize = 25_000;

/// Bytes of one cell: a spreadsheet's holds 32,767 characters at most (common practice, no source).
pub(in crate::inbox) const LONGEST_CELL: usize = 32_767 * 4;

/// Room for one file's rows, whatever number of sheets they stand on.
#[derive(Debug)]
pub(in crate::inbox) struct Space {
    bytes: usize,
    rows: usize,
}

/// There was more than there is room for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub(in crate::inbox) enum TooMuch {
    #[error(
        "has more than the {MOST_ROWS} rows or {} MiB of cells that are read of one file; export a shorter span of time",
        LARGEST_TABLE >> 20
    )]
    Table,
    #[error("has a cell longer than any that a spreadsheet writes; shorten it, and drop the file again")]
    Cell,
}

impl Default for Space {
    fn default() -> Self {
        Self { bytes: LARGEST_TABLE, rows: MOST_ROWS }
    }
}

impl Space {
    /// One more row.
    pub(in crate::inbox) fn row(&mut self) -> Result<(), TooMuch> {
        self.rows = self.rows.checked_sub(1).ok_or(TooMuch::Table)?;
        self.take(size_of::<super::Row>() + 16)
    }

    /// One more cell with that many bytes of text.
    pub(in crate::inbox) fn cell(&mut self, length: usize) -> Result<(), TooMuch> {
        if length > LONGEST_CELL {
            return Err(TooMuch::Cell);
        }
        // Memory is given out in pieces of 16 bytes, the smallest being 32 (glibc's malloc, from memory).
        let text = if length == 0 { 0 } else { (length + 8).next_multiple_of(16).max(32) };
        self.take(size_of::<String>() + text)
    }

    /// That many empty cells more.
    pub(in crate::inbox) fn empty_cells(&mut self, count: usize) -> Result<(), TooMuch> {
        self.take(count.saturating_mul(size_of::<String>()))
    }

    fn take(&mut self, bytes: usize) -> Result<(), TooMuch> {
        self.bytes = self.bytes.checked_sub(bytes).ok_or(TooMuch::Table)?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_cells_and_letters_all_take_room() {
        let mut space = Space::default();
        assert_eq!((0..MOST_ROWS * 2).take_while(|_| space.row().is_ok()).count(), MOST_ROWS);
        let mut space = Space::default();
        assert_eq!((0..LARGEST_TABLE).take_while(|_| space.empty_cells(1).is_ok()).count(), LARGEST_TABLE / 24);
        assert_eq!(Space::default().cell(LARGEST_TABLE), Err(TooMuch::Cell));
    }
}

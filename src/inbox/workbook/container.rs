//! The file around an XLS workbook: a small file system of sectors ([MS-CFB], Compound File Binary File Format).
//!
//! Handed the bytes; promises the one stream that holds the workbook, and the other way round, a file around such a
//! stream in which nothing can be wrong. Turned down: handing the file to the reader of workbooks as it is, which
//! follows a chain of sectors that leads back into itself for ever.

/// Section 2.1: numbers of sectors from here on are marks.
const FIRST_MARK: u32 = 0xFFFF_FFFA;
const END_OF_CHAIN: u32 = 0xFFFF_FFFE;
const FAT_SECTOR: u32 = 0xFFFF_FFFD;
const FREE: u32 = 0xFFFF_FFFF;
/// Section 2.2: a smaller stream lies in the mini stream.
const SMALLEST_STREAM: usize = 4096;
const SIGNATURE: [u8; 8] = [0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1];
/// Sector and entry of a directory, in the files written here.
const SECTOR: usize = 512;
const ENTRY: usize = 128;

/// Whether a file is such a container.
pub(super) fn is_one(bytes: &[u8]) -> bool {
    bytes.starts_with(&SIGNATURE)
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    bytes.get(at..at + 2)?.try_into().ok().map(u16::from_le_bytes)
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    bytes.get(at..at + 4)?.try_into().ok().map(u32::from_le_bytes)
}

fn numbers(sector: &[u8]) -> impl Iterator<Item = u32> + '_ {
    sector.chunks_exact(4).filter_map(|chunk| u32_at(chunk, 0))
}

/// The stream of the workbook in a container.
pub(super) fn workbook(bytes: &[u8]) -> Result<Vec<u8>, String> {
    let damaged =
        || "the spreadsheet is damaged, its sectors can't be found; save it again, or export it as CSV".to_owned();
    let container = Container::of(bytes).ok_or_else(damaged)?;
    if container.find("EncryptedPackage").is_some() || container.find("EncryptionInfo").is_some() {
        return Err("the spreadsheet is locked with a password; save it without one".to_owned());
    }
    let Some(entry) = container.find("Workbook").or_else(|| container.find("Book")) else {
        return Err("this is no spreadsheet but another kind of office file; export it as CSV and drop that".to_owned());
    };
    container.stream(entry).ok_or_else(damaged)
}

struct Container<'b> {
    bytes: &'b [u8],
    sector: usize,
    next: Vec<u32>,
    directory: Vec<u8>,
    mini_next: Vec<u32>,
    mini_stream: Vec<u8>,
}

impl<'b> Container<'b> {
    /// Section 2.2, offsets of the header's fields.
    fn of(bytes: &'b [u8]) -> Option<Self> {
        let sector = match u16_at(bytes, 30)? {
            9 => 512,
            12 => 4096,
            _ => return None,
        };
        let mut this = Self {
            bytes,
            sector,
            next: Vec::new(),
            directory: Vec::new(),
            mini_next: Vec::new(),
            mini_stream: Vec::new(),
        };
        let sectors = bytes.len() / sector;
        let mut tables: Vec<u32> = numbers(bytes.get(76..512)?).collect();
        let mut more = u32_at(bytes, 68)?;
        for _ in 0..=sectors {
            if more >= FIRST_MARK {
                break;
            }
            tables.extend(numbers(this.sector_at(more)?));
            more = tables.pop()?;
        }
        // No file has more tables than it has sectors, and each sector stands in one of them once.
        for table in tables.into_iter().filter(|table| *table < FIRST_MARK).take(sectors) {
            let numbers: Vec<u32> = numbers(this.sector_at(table)?).collect();
            this.next.extend(numbers);
            if this.next.len() > sectors + sector / 4 {
                break;
            }
        }
        this.directory = this.chain(u32_at(bytes, 48)?, usize::MAX)?;
        let mini_next = this.chain(u32_at(bytes, 60)?, usize::MAX)?;
        this.mini_next = numbers(&mini_next).collect();
        let root = this.directory.get(..ENTRY)?;
        this.mini_stream = this.chain(u32_at(root, 116)?, usize::MAX)?;
        Some(this)
    }

    fn sector_at(&self, number: u32) -> Option<&'b [u8]> {
        let start = usize::try_from(number).ok()?.checked_add(1)?.checked_mul(self.sector)?;
        // The last one may be cut short.
        self.bytes.get(start..self.bytes.len().min(start + self.sector)).filter(|sector| !sector.is_empty())
    }

    /// The sectors of a chain, one after the other; `None` where it leads back into itself.
    fn chain(&self, mut number: u32, size: usize) -> Option<Vec<u8>> {
        let mut all = Vec::new();
        let mut steps = self.next.len();
        while number < FIRST_MARK && all.len() < size {
            steps = steps.checked_sub(1)?;
            all.extend_from_slice(self.sector_at(number)?);
            number = *self.next.get(usize::try_from(number).ok()?)?;
        }
        all.truncate(size);
        Some(all)
    }

    fn mini_chain(&self, mut number: u32, size: usize) -> Option<Vec<u8>> {
        let mut all = Vec::new();
        let mut steps = self.mini_next.len();
        while number < FIRST_MARK && all.len() < size {
            steps = steps.checked_sub(1)?;
            let place = usize::try_from(number).ok()?;
            all.extend_from_slice(self.mini_stream.get(place * 64..place * 64 + 64)?);
            number = *self.mini_next.get(place)?;
        }
        all.truncate(size);
        Some(all)
    }

    /// Section 2.6.1, the entry of that name.
    fn find(&self, name: &str) -> Option<&[u8]> {
        let wanted: Vec<u8> = name.encode_utf16().flat_map(u16::to_le_bytes).collect();
        self.directory.chunks_exact(ENTRY).find(|entry| {
            let length = u16_at(entry, 64).map_or(0, usize::from).saturating_sub(2);
            entry.get(..length.min(64)).is_some_and(|known| known.eq_ignore_ascii_case(&wanted))
        })
    }

    fn stream(&self, entry: &[u8]) -> Option<Vec<u8>> {
        let (start, size) = (u32_at(entry, 116)?, usize::try_from(u32_at(entry, 120)?).ok()?);
        let stream = if size < SMALLEST_STREAM { self.mini_chain(start, size) } else { self.chain(start, size) };
        stream.filter(|stream| stream.len() == size)
    }
}

/// A container with nothing in it but this stream, as the workbook's.
pub(super) fn around(stream: &[u8]) -> Vec<u8> {
    let size = stream.len().max(SMALLEST_STREAM);
    let data = size.div_ceil(SECTOR);
    // The tables tell what follows each sector, themselves included; the directory takes one.
    let mut tables = 1;
    while tables * (SECTOR / 4) < tables + 1 + data {
        tables += 1;
    }
    let mark = |number: usize| u32::try_from(number).unwrap_or(END_OF_CHAIN);
    let mut file = Vec::with_capacity((2 + tables + data) * SECTOR);
    file.extend(SIGNATURE);
    file.extend([0; 16]);
    for number in [0x3E_u16, 3, 0xFFFE, 9, 6, 0, 0, 0] {
        file.extend(number.to_le_bytes());
    }
    for number in [0, mark(tables), mark(tables), 0, 4096, END_OF_CHAIN, 0, END_OF_CHAIN, 0] {
        file.extend(number.to_le_bytes());
    }
    for place in 0..109 {
        file.extend(if place < tables { mark(place) } else { FREE }.to_le_bytes());
    }
    let mut next: Vec<u32> = vec![FAT_SECTOR; tables];
    next.push(END_OF_CHAIN);
    next.extend((1..data).map(|place| mark(tables + 1 + place)));
    next.push(END_OF_CHAIN);
    next.resize(tables * (SECTOR / 4), FREE);
    file.extend(next.into_iter().flat_map(u32::to_le_bytes));
    for (name, kind, start, size) in [("Root Entry", 5, END_OF_CHAIN, 0), ("Workbook", 2, mark(tables + 1), mark(size))]
    {
        file.extend(entry(name, kind, start, size));
    }
    file.resize(file.len() + SECTOR - 2 * ENTRY, 0);
    file.extend(stream);
    file.resize((2 + tables + data) * SECTOR, 0);
    file
}

fn entry(name: &str, kind: u8, start: u32, size: u32) -> Vec<u8> {
    let mut entry: Vec<u8> = name.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let length = u16::try_from(entry.len() + 2).unwrap_or(0);
    entry.resize(64, 0);
    entry.extend(length.to_le_bytes());
    entry.extend([kind, 1]);
    // Left, right and child in the tree of names.
    let child = if kind == 5 { 1 } else { FREE };
    entry.extend([FREE, FREE, child].into_iter().flat_map(u32::to_le_bytes));
    entry.resize(116, 0);
    entry.extend(start.to_le_bytes());
    entry.extend(size.to_le_bytes());
    entry.resize(ENTRY, 0);
    entry
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stream_comes_out_as_it_was_put_in() {
        for size in [0, 1, 4095, 4096, 4097, 100_000, 5_000_000] {
            let stream: Vec<u8> = (0..size).map(|place: u32| place.to_le_bytes()[1]).collect();
            let out = workbook(&around(&stream)).unwrap();
            assert_eq!(out.get(..stream.len()), Some(&stream[..]), "{size}");
            assert!(out.len() == stream.len().max(SMALLEST_STREAM));
        }
    }

    #[test]
    fn a_chain_that_leads_back_into_itself_is_damage() {
        let mut file = around(&vec![7; 5000]);
        // The table is the first sector; the stream begins with the third.
        file[SECTOR + 3 * 4..SECTOR + 4 * 4].copy_from_slice(&2_u32.to_le_bytes());
        file[SECTOR * 2 + ENTRY + 120..][..4].copy_from_slice(&u32::MAX.to_le_bytes());
        assert!(workbook(&file).unwrap_err().contains("damaged"));
    }

    #[test]
    fn what_is_no_spreadsheet_says_so() {
        let mut file = around(b"x");
        let name: Vec<u8> = "WordBook".encode_utf16().flat_map(u16::to_le_bytes).collect();
        file[SECTOR * 2 + ENTRY..][..16].copy_from_slice(&name);
        assert!(workbook(&file).unwrap_err().contains("another kind of office file"));
        assert!(workbook(&file[..700]).unwrap_err().contains("damaged"));
    }
}

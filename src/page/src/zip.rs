//! A zip archive of the files: deflated entries, no dates, names as they are (PKWARE APPNOTE 6.3, sections 4.3 to 4.5).

use miniz_oxide::deflate::compress_to_vec;
use overbend::run::OutputFile;

/// Effort of the compression, 0 to 10: beyond 6 files hardly get smaller.
const LEVEL: u8 = 6;
/// Version of the format that deflated entries need, 2.0.
const VERSION: u16 = 20;
/// General purpose flag 11: names are UTF-8.
const UTF8_NAMES: u16 = 1 << 11;
/// Compression method 8: deflate.
const DEFLATED: u16 = 8;
/// 1 January 1980, the first day that the format has: same files, same archive.
const FIRST_DAY: u16 = (1 << 5) | 1;

/// The archive.
pub(crate) fn archive(files: &[OutputFile]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut directory = Vec::new();
    for file in files {
        let start = out.len() as u32;
        let packed = compress_to_vec(&file.bytes, LEVEL);
        let mut common = Vec::new();
        for half in [VERSION, UTF8_NAMES, DEFLATED, 0, FIRST_DAY] {
            common.extend(half.to_le_bytes());
        }
        for word in [crc32(&file.bytes), packed.len() as u32, file.bytes.len() as u32] {
            common.extend(word.to_le_bytes());
        }
        common.extend((file.name.len() as u16).to_le_bytes());
        common.extend(0_u16.to_le_bytes());
        out.extend(0x0403_4b50_u32.to_le_bytes());
        out.extend(&common);
        out.extend(file.name.as_bytes());
        out.extend(packed);
        directory.extend(0x0201_4b50_u32.to_le_bytes());
        directory.extend(VERSION.to_le_bytes());
        directory.extend(&common);
        // Comment length, disk, internal and external attributes.
        directory.extend([0; 10]);
        directory.extend(start.to_le_bytes());
        directory.extend(file.name.as_bytes());
    }
    let (start, count) = (out.len() as u32, files.len() as u16);
    let length = directory.len() as u32;
    out.extend(directory);
    out.extend(0x0605_4b50_u32.to_le_bytes());
    out.extend([0; 4]);
    out.extend(count.to_le_bytes());
    out.extend(count.to_le_bytes());
    out.extend(length.to_le_bytes());
    out.extend(start.to_le_bytes());
    out.extend(0_u16.to_le_bytes());
    out
}

/// Cyclic redundancy check with the polynomial 0xEDB88320 (reflected), as the format wants it.
fn crc32(bytes: &[u8]) -> u32 {
    let mut table = [0_u32; 256];
    for (byte, entry) in (0_u32..).zip(&mut table) {
        *entry = (0..8).fold(byte, |crc, _| if crc & 1 == 1 { 0xEDB8_8320 ^ (crc >> 1) } else { crc >> 1 });
    }
    !bytes.iter().fold(u32::MAX, |crc, byte| table[((crc ^ u32::from(*byte)) & 0xFF) as usize] ^ (crc >> 8))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The check value that the catalogue of parametrised CRC algorithms lists for CRC-32/ISO-HDLC.
    #[test]
    fn the_check_sum_of_nine_digits_is_the_published_one() {
        assert_eq!(crc32(b"123456789"), 0xCBF4_3926);
    }

    #[test]
    fn an_archive_ends_with_its_directory() {
        let files = [OutputFile { name: "a.csv".into(), bytes: b"1,2\n".repeat(100) }];
        let archive = archive(&files);
        let end = &archive[archive.len() - 22..];
        assert_eq!(&end[..4], b"PK\x05\x06");
        let start = u32::from_le_bytes(end[16..20].try_into().unwrap()) as usize;
        assert_eq!(&archive[start..start + 4], b"PK\x01\x02");
        assert!(archive.len() < 200, "{}", archive.len());
    }
}

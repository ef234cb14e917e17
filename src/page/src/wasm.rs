//! What the page needs of a WebAssembly module: everything but its custom sections.
//!
//! Custom sections (id 0) hold names and notes for other tools; the module means the same without them (WebAssembly core
//! specification, section 5.5.3).

/// Bytes of the magic number and the version.
const HEAD: usize = 8;

/// The module without custom sections.
///
/// # Errors
/// A module that ends early.
pub(crate) fn without_custom_sections(module: &[u8]) -> Result<Vec<u8>, &'static str> {
    const EARLY: &str = "the WebAssembly module ends early";
    let mut kept = module.get(..HEAD).ok_or(EARLY)?.to_vec();
    let mut at = HEAD;
    while at < module.len() {
        let (length, behind) = leb128(module, at + 1).ok_or(EARLY)?;
        let section = module.get(at..behind + length).ok_or(EARLY)?;
        if section[0] != 0 {
            kept.extend(section);
        }
        at = behind + length;
    }
    Ok(kept)
}

/// An unsigned number in the format's variable length (section 5.2.2), and the place behind it.
fn leb128(bytes: &[u8], mut at: usize) -> Option<(usize, usize)> {
    let (mut value, mut shift) = (0_usize, 0);
    loop {
        let byte = *bytes.get(at)?;
        value |= usize::from(byte & 0x7F).checked_shl(shift)?;
        at += 1;
        if byte & 0x80 == 0 {
            return Some((value, at));
        }
        shift += 7;
    }
}

#[cfg(test)]
mod tests {
    use super::without_custom_sections;

    #[test]
    fn custom_sections_go_and_others_stay() {
        let head = b"\0asm\x01\0\0\0";
        let module = [&head[..], &[0, 3, 1, 65, 66], &[1, 1, 0], &[0, 2, 0, 0]].concat();
        assert_eq!(without_custom_sections(&module).unwrap(), [&head[..], &[1, 1, 0]].concat());
        assert!(without_custom_sections(&module[..10]).is_err());
    }
}

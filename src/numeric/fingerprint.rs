//! Hashes.

use std::fmt::Write as _;

use sha2::{Digest, Sha256};

/// SHA-256 (FIPS 180-4) in hexadecimal.
pub fn fingerprint(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut out, byte| {
        // Writing to a String cannot fail.
        let _ = write!(out, "{byte:02x}");
        out
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_digest_of_abc_is_met() {
        // FIPS 180-4 example for the message "abc".
        assert_eq!(fingerprint(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}

//! Any bytes as a shop's file of boards; what is read is written again and read back.
#![no_main]

use libfuzzer_sys::fuzz_target;
use overbend::document::shop;
use overbend_fuzz::hold;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let read = match shop::read("shop.toml", text) {
        Ok(read) => read,
        Err(problems) => return hold(text, &problems),
    };
    for board in read.boards.iter().take(3) {
        // A file that lists its boards in one line takes no further one, and says so.
        let Ok(kept) = shop::with_board("shop.toml", text, board) else { continue };
        assert!(kept.starts_with(text), "what was there has changed");
        let again = shop::read("shop.toml", &kept).unwrap_or_else(|p| panic!("{p:#?}"));
        assert_eq!(again.boards.len(), read.boards.len() + 1);
    }
});

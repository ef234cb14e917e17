//! The functions that the page calls in WebAssembly: a request is written into memory, answered, and read from there.
//!
//! Numbers cross the border, nothing else: no pointer is followed on this side. The message of a panic stays readable
//! after the trap that ends the call.

use std::cell::RefCell;
use std::panic;
use std::sync::Once;

thread_local! {
    static REQUEST: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
    static ANSWER: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
    static PANIC: RefCell<String> = const { RefCell::new(String::new()) };
}
static HOOK: Once = Once::new();

/// Makes room for a request of `length` bytes and says where.
#[allow(unsafe_code, reason = "the page finds the function by its name")]
#[unsafe(no_mangle)]
extern "C" fn request(length: usize) -> *const u8 {
    HOOK.call_once(|| {
        panic::set_hook(Box::new(|info| {
            PANIC.with(|text| text.try_borrow_mut().map(|mut text| *text = info.to_string()).unwrap_or_default());
        }));
    });
    REQUEST.with_borrow_mut(|request| {
        request.clear();
        request.resize(length, 0);
        request.as_ptr()
    })
}

/// Answers the request and says how many bytes the answer has.
#[allow(unsafe_code, reason = "the page finds the function by its name")]
#[unsafe(no_mangle)]
extern "C" fn answer() -> usize {
    let answer = crate::answer(&REQUEST.take());
    let length = answer.len();
    ANSWER.set(answer);
    length
}

/// Where the answer lies.
#[allow(unsafe_code, reason = "the page finds the function by its name")]
#[unsafe(no_mangle)]
extern "C" fn answer_start() -> *const u8 {
    ANSWER.with_borrow(|answer| answer.as_ptr())
}

/// Where the message of a panic lies.
#[allow(unsafe_code, reason = "the page finds the function by its name")]
#[unsafe(no_mangle)]
extern "C" fn panic_start() -> *const u8 {
    PANIC.with(|text| text.try_borrow().map_or(std::ptr::null(), |text| text.as_ptr()))
}

/// How many bytes the message of a panic has.
#[allow(unsafe_code, reason = "the page finds the function by its name")]
#[unsafe(no_mangle)]
extern "C" fn panic_length() -> usize {
    PANIC.with(|text| text.try_borrow().map_or(0, |text| text.len()))
}

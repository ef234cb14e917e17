//! One name and one colour per operation, the same in every format.

use crate::drawing::Operation;

/// How an operation looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Paint {
    /// Red, green, blue.
    pub rgb: (u8, u8, u8),
    /// The nearest colour number of DXF files, 1 to 255 (the numbers 1 to 6 are red, yellow, green, cyan, blue and
    /// magenta, 30 an orange and 8 a grey: DXF reference, colour index).
    pub dxf_color: u8,
}

/// The layer, group or class of an operation.
pub(crate) fn layer_name(operation: Operation) -> &'static str {
    match operation {
        Operation::CutOutside => "outside-cut",
        Operation::CutInside => "inside-cut",
        Operation::Drill => "drill",
        Operation::Mark => "mark",
        Operation::Note => "note",
    }
}

/// The colour of an operation: told apart in print and by people who see red and green alike.
pub fn paint(operation: Operation) -> Paint {
    match operation {
        Operation::CutOutside => Paint { rgb: (0, 0, 255), dxf_color: 5 },
        Operation::CutInside => Paint { rgb: (255, 127, 0), dxf_color: 30 },
        Operation::Drill => Paint { rgb: (255, 0, 255), dxf_color: 6 },
        Operation::Mark => Paint { rgb: (0, 191, 191), dxf_color: 4 },
        Operation::Note => Paint { rgb: (128, 128, 128), dxf_color: 8 },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_operations_look_alike() {
        for (i, a) in Operation::ALL.iter().enumerate() {
            for b in &Operation::ALL[i + 1..] {
                assert_ne!(layer_name(*a), layer_name(*b));
                assert_ne!(paint(*a).rgb, paint(*b).rgb);
                assert_ne!(paint(*a).dxf_color, paint(*b).dxf_color);
            }
        }
    }
}

//! One section of the stack: layers sliding on each other before the glue sets, one beam after it.
//!
//! Composite beam by transformed section (Gere, Mechanics of Materials, section 6.3): plane sections, linear elastic,
//! each layer with its own modulus.

/// A layer where the section cuts it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slice {
    /// Thickness, mm; zero where the layer has stopped short.
    pub(super) thickness_mm: f64,
    /// Modulus along the board, MPa.
    pub(super) modulus_mpa: f64,
    /// Modulus times the part of the stress that does not relax, MPa.
    pub(super) kept_modulus_mpa: f64,
    /// Part of its thickness by which pressure squeezes it while the glue sets.
    pub(super) squeeze: f64,
    /// How much it shrinks, as a strain, when it cools from cure to room temperature.
    pub(super) shrinkage: f64,
    /// Part of its thickness that it loses after the glue has set.
    pub(super) shrinks_through: f64,
    /// Natural curvature, 1/mm.
    pub(super) natural_curvature_per_mm: f64,
    /// Whether it slides on the layer below until the glue has set.
    pub(super) slides_on_lower: bool,
}

/// Stiffness of the stack at one place and what it remembers of being pressed; all per mm of width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Thickness of the whole stack, mm.
    pub thickness_mm: f64,
    /// Height of the bonded stack's neutral axis above its base, mm.
    pub neutral_mm: f64,
    /// Bending stiffness while the layers slide on each other, N·mm: the sum over layers and cured groups, each about
    /// its own neutral axis.
    pub wet_stiffness_n_mm: f64,
    /// Moment that is not there while the layers slide because they were bent beforehand (or, within a cured group,
    /// bend by themselves when warm), N: the wet stack carries `wet_stiffness_n_mm k - natural_moment_n`.
    pub natural_moment_n: f64,
    /// Bending stiffness once the glue has set, N·mm.
    pub bonded_stiffness_n_mm: f64,
    /// Moment that the stack keeps per curvature it is pressed to, N·mm: as the wet stiffness, but with the moduli
    /// lowered by what relaxes.
    pub kept_stiffness_n_mm: f64,
    /// As the wet offset, but with the moduli lowered by what relaxes, N.
    pub kept_offset_n: f64,
    /// Moment, per curvature that the stack is pressed to, with which its layers straighten it as they swell to their
    /// thickness when the pressure goes, N·mm.
    pub squeezed_stiffness_n_mm: f64,
    /// Curvature that cooling from cure to room temperature adds to the bonded stack, 1/mm.
    pub thermal_curvature_per_mm: f64,
    /// Factor on the pressed curvature of a stack that shrinks through its thickness once the glue has set; 1 where it does not.
    pub closed_in: f64,
    /// Factor on what the kept stiffness unbends then, with the levers that the stress locked in the layers has after shrinking.
    pub kept_lever: f64,
}

impl Section {
    /// Curvature after release of a stack pressed to `k_pressed_per_mm`, both at the neutral axis, 1/mm.
    ///
    /// Every layer or cured group keeps the moment it was bent with, and those that the pressure had squeezed move apart;
    /// together they act on the bonded stack.
    #[inline]
    pub fn free_curvature(&self, k_pressed_per_mm: f64) -> f64 {
        self.closed_in * k_pressed_per_mm - self.springback_per_mm(self.kept_lever * k_pressed_per_mm)
            + self.thermal_curvature_per_mm
    }

    /// Curvature that the release takes away from a stack pressed to `k_pressed_per_mm`, 1/mm; cooling and closing in come on
    /// top.
    pub(super) fn springback_per_mm(&self, k_pressed_per_mm: f64) -> f64 {
        let kept_moment = self.kept_stiffness_n_mm * k_pressed_per_mm - self.kept_offset_n;
        (kept_moment + self.squeezed_stiffness_n_mm * k_pressed_per_mm) / self.bonded_stiffness_n_mm
    }

    /// Curvature to press to for `k_free_per_mm` after release, 1/mm; `None` where no bend stays, as with one layer.
    pub fn pressed_curvature(&self, k_free_per_mm: f64) -> Option<f64> {
        let stays = self.stays();
        // Below a millionth the stack is one piece but for rounding, and the answer would be noise.
        if stays.is_nan() || stays < 1e-6 {
            return None;
        }
        let without_bend = self.free_curvature(0.0);
        Some((k_free_per_mm - without_bend) / stays)
    }

    /// Free curvature per pressed curvature of flat layers.
    pub(crate) fn stays(&self) -> f64 {
        self.closed_in - self.kept_lever * self.springback_share()
    }

    /// Part of its curvature by which the released stack closes in as it shrinks through its thickness.
    pub(crate) fn closes_in(&self) -> f64 {
        let plain = 1.0 - self.springback_share();
        if plain > 0.0 { self.stays() / plain - 1.0 } else { 0.0 }
    }

    /// How much lower the springback factor of flat layers seems when they close in as computed; 0 where they do not close in.
    pub(crate) fn factor_per_closing_in(&self) -> f64 {
        let closing = self.stays() - (1.0 - self.springback_share());
        if closing == 0.0 { 0.0 } else { (closing / self.springback_share()).min(MOST_FACTORS) }
    }

    /// The section of a stack with a factor on what it keeps of its bend, that closes in by a multiple of what is computed.
    #[must_use]
    pub(crate) fn with_factor(&self, factor: f64, closing: f64) -> Self {
        Self {
            kept_stiffness_n_mm: factor * self.kept_stiffness_n_mm,
            kept_offset_n: factor * self.kept_offset_n,
            closed_in: 1.0 + closing * (self.closed_in - 1.0),
            kept_lever: 1.0 + closing * (self.kept_lever - 1.0),
            ..*self
        }
    }

    /// Part of the pressed curvature that flat layers lose on release, 0 to 1, before any closing in.
    pub fn springback_share(&self) -> f64 {
        (self.kept_stiffness_n_mm + self.squeezed_stiffness_n_mm) / self.bonded_stiffness_n_mm
    }

    /// The section of these layers, listed from the base up.
    pub(super) fn of(slices: &[Slice]) -> Self {
        let whole = Moments::of(slices, |s| s.modulus_mpa);
        let mut section = Self {
            thickness_mm: slices.iter().map(|s| s.thickness_mm).sum(),
            neutral_mm: whole.neutral_mm,
            wet_stiffness_n_mm: 0.0,
            natural_moment_n: 0.0,
            bonded_stiffness_n_mm: whole.stiffness_n_mm,
            kept_stiffness_n_mm: 0.0,
            kept_offset_n: 0.0,
            squeezed_stiffness_n_mm: squeezed_stiffness_n_mm(slices, whole.neutral_mm),
            thermal_curvature_per_mm: whole.shrinkage_moment_n / whole.stiffness_n_mm,
            closed_in: 1.0,
            kept_lever: 1.0,
        };
        for group in groups(slices) {
            let (stiffness_n_mm, offset_n) = group_stiffness(group, |s| s.modulus_mpa);
            section.wet_stiffness_n_mm += stiffness_n_mm;
            section.natural_moment_n += offset_n;
            let (stiffness_n_mm, offset_n) = group_stiffness(group, |s| s.kept_modulus_mpa);
            section.kept_stiffness_n_mm += stiffness_n_mm;
            section.kept_offset_n += offset_n;
        }
        if slices.iter().any(|s| s.shrinks_through != 0.0) {
            section.close_in(slices);
        }
        // Steiner: about one common axis layers are at least as stiff as each about its own; what relaxes is a part.
        debug_assert!(section.wet_stiffness_n_mm <= section.bonded_stiffness_n_mm * (1.0 + 1e-9), "{section:?}");
        debug_assert!(section.kept_stiffness_n_mm <= section.wet_stiffness_n_mm * (1.0 + 1e-9), "{section:?}");
        debug_assert!((0.0..=section.thickness_mm).contains(&section.neutral_mm), "{section:?}");
        section
    }
}

/// Most springback factors that closing in is taken to stand for: a stack that gives nothing back has no factor to tell.
const MOST_FACTORS: f64 = 1e4;

impl Section {
    /// Finds how the layers close in. A fibre's own length is the pressed one, less what its layer keeps of the bend; after
    /// shrinking, the section turns by what fits these lengths best over the heights y at which the fibres lie then, each with
    /// its modulus as weight, which leaves neither force nor moment. Forces act on the layers as they were laid.
    fn close_in(&mut self, slices: &[Slice]) {
        let mut height = 0.0;
        let heights: Vec<f64> = slices
            .iter()
            .map(|s| {
                let left = (1.0 - s.shrinks_through) * s.thickness_mm;
                height += left;
                height - 0.5 * left
            })
            .collect();
        let middles: Vec<f64> = slices
            .iter()
            .scan(0.0, |top, s| {
                *top += s.thickness_mm;
                Some(*top - 0.5 * s.thickness_mm)
            })
            .collect();
        let sum = |of: &dyn Fn(usize) -> f64| (0..slices.len()).map(of).sum::<f64>();
        let ea = |i: usize| slices[i].modulus_mpa * slices[i].thickness_mm;
        let axis = sum(&|i| ea(i) * heights[i]) / sum(&ea);
        let left = |i: usize| 1.0 - slices[i].shrinks_through;
        let own = |i: usize| slices[i].thickness_mm.powi(2) / 12.0;
        let stiffness = sum(&|i| ea(i) * ((heights[i] - axis).powi(2) + left(i).powi(2) * own(i)));
        let pressed = sum(&|i| ea(i) * ((middles[i] - self.neutral_mm) * (heights[i] - axis) + left(i) * own(i)));
        self.closed_in = pressed / stiffness;
        let (mut kept, mut first) = (0.0, 0);
        for group in groups(slices) {
            let bottom = middles[first] - 0.5 * slices[first].thickness_mm;
            let own_axis = bottom + Moments::of(group, |s| s.kept_modulus_mpa).neutral_mm;
            for i in first..first + group.len() {
                let ea = slices[i].kept_modulus_mpa * slices[i].thickness_mm;
                kept += ea * ((middles[i] - own_axis) * (heights[i] - axis) + left(i) * own(i));
            }
            first += group.len();
        }
        let plain = self.kept_stiffness_n_mm / self.bonded_stiffness_n_mm;
        self.kept_lever = if plain > 0.0 { kept / stiffness / plain } else { 1.0 };
    }
}

/// Stiffness of a group, N·mm, and the moment that it lacks because it was bent beforehand, N.
///
/// A cured group of unlike materials has bowed by itself while warm; held on the table it carries that moment too, and
/// gives it back when cool.
pub(super) fn group_stiffness(group: &[Slice], modulus_mpa: impl Fn(&Slice) -> f64) -> (f64, f64) {
    let part = Moments::of(group, modulus_mpa);
    (part.stiffness_n_mm, part.stiffness_n_mm * group[0].natural_curvature_per_mm - part.shrinkage_moment_n)
}

/// How a group sinks under the pressure while the glue sets.
pub(super) struct Sinking {
    /// Its stiffness against stretching, N/mm.
    pub(super) axial_n_per_mm: f64,
    /// Height of its neutral axis above the base of the stack without pressure, mm.
    pub(super) neutral_mm: f64,
    /// How much lower that axis lies under the pressure, mm.
    pub(super) sunk_mm: f64,
}

/// How each group sinks, from the base up.
pub(super) fn sinking(slices: &[Slice]) -> impl Iterator<Item = Sinking> {
    groups(slices).scan((0.0, 0.0), |(bottom, sunk), group| {
        let neutral_mm = Moments::of(group, |s| s.modulus_mpa).neutral_mm;
        let (mut top, mut own) = (0.0, 0.0);
        for slice in group {
            own += slice.squeeze * (neutral_mm - top).clamp(0.0, slice.thickness_mm);
            top += slice.thickness_mm;
        }
        let here = Sinking {
            axial_n_per_mm: group.iter().map(|s| s.modulus_mpa * s.thickness_mm).sum(),
            neutral_mm: *bottom + neutral_mm,
            sunk_mm: *sunk + own,
        };
        *bottom += top;
        *sunk += group.iter().map(|s| s.squeeze * s.thickness_mm).sum::<f64>();
        Some(here)
    })
}

/// Moment, per pressed curvature, that straightens the stack as its layers swell again, N·mm.
///
/// Groups are glued with the differences in length k z' of their squeezed heights z'. With their heights z given back,
/// they leave no moment at the curvature k sum(E A (z - zn) z') / sum(E A (z - zn) z) (own derivation; for thin faces the
/// loss is p t/E of the core over the distance of the faces). A group that had cured before springs back to what it was.
fn squeezed_stiffness_n_mm(slices: &[Slice], neutral_mm: f64) -> f64 {
    if slices.iter().all(|s| s.squeeze == 0.0) {
        return 0.0;
    }
    sinking(slices).map(|g| g.axial_n_per_mm * (g.neutral_mm - neutral_mm) * g.sunk_mm).sum()
}

/// The runs of layers that act as one before pressing, from the base up.
pub(super) fn groups(slices: &[Slice]) -> impl Iterator<Item = &[Slice]> {
    slices.chunk_by(|_, upper| !upper.slides_on_lower)
}

/// Weighted moments of layers that act as one.
pub(super) struct Moments {
    /// Neutral axis above the lowest layer's underside, mm.
    pub(super) neutral_mm: f64,
    /// Bending stiffness about that axis, N·mm.
    stiffness_n_mm: f64,
    /// Moment about that axis of the forces that would undo the shrinkage, N; it bends toward rocker.
    shrinkage_moment_n: f64,
}

impl Moments {
    pub(super) fn of(slices: &[Slice], modulus_mpa: impl Fn(&Slice) -> f64) -> Self {
        let middles = || {
            slices.iter().scan(0.0, |top, s| {
                *top += s.thickness_mm;
                Some((s, modulus_mpa(s) * s.thickness_mm, *top - 0.5 * s.thickness_mm))
            })
        };
        let (mut force, mut moment) = (0.0, 0.0);
        for (_, ea, z) in middles() {
            force += ea;
            moment += ea * z;
        }
        // A group that has stopped short, or has relaxed altogether, has no axis of its own and carries nothing.
        let neutral_mm = if force > 0.0 { moment / force } else { 0.0 };
        let (mut stiffness_n_mm, mut shrinkage_moment_n) = (0.0, 0.0);
        for (s, ea, z) in middles() {
            let arm = z - neutral_mm;
            stiffness_n_mm += ea * (s.thickness_mm * s.thickness_mm / 12.0 + arm * arm);
            shrinkage_moment_n += ea * s.shrinkage * arm;
        }
        Self { neutral_mm, stiffness_n_mm, shrinkage_moment_n }
    }
}

//! The layers of the stack.

/// What a material is; it decides defaults and how its figures are to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum MaterialKind {
    /// Wood with the grain along the board.
    WoodAlong,
    /// Wood with the grain across the board.
    WoodAcross,
    /// Fibre-reinforced laminate.
    Laminate,
    /// Metal.
    Metal,
    /// Unreinforced plastic or film.
    Plastic,
    /// Plywood, fibreboard and the like.
    Sheet,
}

/// A value with how much it scatters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// The expected value.
    pub value: f64,
    /// Coefficient of variation: standard deviation over value.
    pub cv: f64,
}

/// A share between 0 and 1 with its standard error; the share itself may be 0, so the error is absolute.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// The expected share.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
}

impl Share {
    /// Nothing, for certain.
    pub(crate) const NONE: Self = Self { value: 0.0, sd: 0.0 };
}

/// How much stiffer a wood gets as it dries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drying {
    /// Modulus at 12 % moisture content over that of green wood.
    pub stiffer: f64,
    /// Moisture content below which it stiffens, as a part of the ovendry mass.
    pub point: f64,
}

/// What a layer is made of, catalogue and overrides already put together.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: MaterialKind,
    /// Modulus along the board for pure bending, MPa.
    pub modulus_mpa: Spread,
    /// Modulus across the board, MPa, where known.
    pub cross_modulus_mpa: Option<f64>,
    /// Modulus through the thickness, MPa, where known.
    pub through_modulus_mpa: Option<f64>,
    /// Shear modulus for bending along the board, MPa, where known.
    pub shear_modulus_mpa: Option<f64>,
    /// Largest strain it is to see while bent, where known.
    pub strain_limit: Option<f64>,
    /// Thermal expansion along the board, 1/K, where known.
    pub expansion_per_k: Option<f64>,
    /// Density, kg/m³, where known.
    pub density_kg_m3: Option<f64>,
    /// How its modulus depends on moisture, where known; it is otherwise that at 12 %.
    pub drying: Option<Drying>,
    /// Part of its bending stress that relaxes while it is held on the table overnight.
    pub relaxed: Share,
    /// Where the modulus comes from.
    pub source: String,
}

impl Material {
    /// A material of which nothing but the modulus is known, and that exactly.
    pub fn of_modulus(name: impl Into<String>, kind: MaterialKind, modulus_mpa: f64) -> Self {
        Self {
            name: name.into(),
            kind,
            modulus_mpa: Spread { value: modulus_mpa, cv: 0.0 },
            cross_modulus_mpa: None,
            through_modulus_mpa: None,
            shear_modulus_mpa: None,
            strain_limit: None,
            expansion_per_k: None,
            density_kg_m3: None,
            drying: None,
            relaxed: Share::NONE,
            source: String::new(),
        }
    }
}

/// Values at stations along the board, s in mm from its middle, in order.
pub type Stations = Vec<(f64, f64)>;

/// Thickness of a layer.
#[derive(Debug, Clone, PartialEq)]
pub enum Thickness {
    /// The same all along, mm.
    Constant(f64),
    /// Linear between stations (s, thickness), mm, and constant beyond them.
    Tapered(Stations),
}

impl Thickness {
    /// Largest thickness, mm.
    pub fn thickest_mm(&self) -> f64 {
        match self {
            Self::Constant(mm) => *mm,
            Self::Tapered(stations) => stations.iter().map(|s| s.1).fold(0.0, f64::max),
        }
    }
}

/// Dry fabric that is wetted out on the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fabric {
    /// Mass of one ply before it is wetted out, g/m².
    pub dry_g_m2: f64,
    /// Part of the mass of the finished laminate that is fibre.
    pub fibre_fraction: f64,
}

/// A strip of a layer's own stock on two supports, sagging under a weight in the middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SagTest {
    /// Distance between the supports, mm.
    pub span_mm: f64,
    /// Force of the weight in the middle, N.
    pub load_n: f64,
    /// Sag in the middle, mm.
    pub sag_mm: f64,
    /// Width of the strip, mm.
    pub width_mm: f64,
    /// Thickness of the strip, mm.
    pub thickness_mm: f64,
    /// Weight of the strip between the supports, N, where the sag was read against a straight line; zero where it was
    /// read as what the weight adds.
    pub strip_weight_n: f64,
    /// Modulus over shear modulus of the stock, where the sag is to be freed of its share from shear.
    pub shear_ratio: Option<f64>,
    /// Standard error of the sag reading, mm.
    pub sag_error_mm: f64,
    /// Standard error of the thickness reading, mm.
    pub thickness_error_mm: f64,
}

/// One layer of the stack.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Number of the entry in the document's list of layers that it comes from, from 0: an entry may stand for several
    /// plies, and what is wrong with one of them is said there.
    pub entry: usize,
    /// What the shop calls it.
    pub name: String,
    /// What it is made of.
    pub material: Material,
    /// Its moisture content, as a part of its ovendry mass, where it is not the catalogue's 12 %.
    pub moisture: Option<f64>,
    /// A sag test of its stock, which then says the modulus instead of the material.
    pub sag_test: Option<SagTest>,
    /// Its thickness.
    pub thickness: Thickness,
    /// Standard deviation of its thickness, mm: one number for the whole layer, as a planer is set once.
    pub thickness_sd_mm: f64,
    /// From where to where it reaches, mm from the board's middle toward the tip; `None` for all along.
    pub extent_mm: Option<(f64, f64)>,
    /// Its width where it does not fill the board's, mm.
    pub width_mm: Option<f64>,
    /// Layers with the same group number lie together and were glued to each other before pressing.
    pub cured_group: Option<usize>,
    /// Curvature it has by itself before pressing, 1/mm; that of the whole group where it is part of one.
    pub natural_curvature_per_mm: f64,
    /// Part of the bending stress that relaxes while it is held on the table.
    pub relaxed: Share,
    /// Whether the shop said how much relaxes, which a warm cure then does not change.
    pub relaxed_stated: bool,
    /// Wet water-based glue that it takes up, half of each glue line beside it and all of one beside a layer that takes up
    /// none, g/m².
    pub glue_g_m2: f64,
    /// Moisture content that it comes to in use, as a part of its ovendry mass, where that is not the one it was laid with.
    pub moisture_in_use: Option<f64>,
    /// Part of its thickness that it loses after the glue has set; found from glue, moisture and cure where not given.
    pub shrinks_through: Option<f64>,
    /// The dry fabric that it is made of on the table; `None` where it is bought as it is pressed.
    pub fabric: Option<Fabric>,
    /// Price of a square metre, where given.
    pub price_per_m2: Option<f64>,
}

impl Layer {
    /// A flat layer of one thickness all along, with what its material says of relaxation.
    pub fn flat(name: impl Into<String>, material: Material, thickness_mm: f64) -> Self {
        Self {
            entry: 0,
            name: name.into(),
            relaxed: material.relaxed,
            material,
            moisture: None,
            sag_test: None,
            thickness: Thickness::Constant(thickness_mm),
            thickness_sd_mm: 0.0,
            extent_mm: None,
            width_mm: None,
            cured_group: None,
            natural_curvature_per_mm: 0.0,
            relaxed_stated: false,
            glue_g_m2: 0.0,
            moisture_in_use: None,
            shrinks_through: None,
            fabric: None,
            price_per_m2: None,
        }
    }
}

/// A layer with the moduli that it has in the press: its moisture and its sag test are applied. A laminate is made of
/// these, so that neither can be applied twice.
#[derive(Debug, Clone, PartialEq)]
pub struct EffectiveLayer(Layer);

impl EffectiveLayer {
    /// Takes the moduli of the layer's material as those in the press, whatever its moisture or sag test says.
    pub(crate) fn with_moduli_of(layer: Layer) -> Self {
        Self(layer)
    }

    /// A plain layer with these moduli, which no longer names what they were found from.
    pub fn to_plain(&self) -> Layer {
        Layer { moisture: None, sag_test: None, ..self.0.clone() }
    }
}

impl std::ops::Deref for EffectiveLayer {
    type Target = Layer;

    fn deref(&self) -> &Layer {
        &self.0
    }
}

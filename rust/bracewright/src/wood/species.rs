//! Published species. The figures are in species.csv, one a line with its standing and source; a figure nobody has is absent.

use std::sync::OnceLock;

use super::quantity::Quantity as Q;
use super::{Figure, Inner, Standing, Wood, moisture};
use crate::error::{self, Error, Result, number};

const TABLE: &str = include_str!("species.csv");

const HANDBOOK: &str = "Wood Handbook FPL-GTR-282 (2021)";
const HANDBOOK_MEMORY: &str = "Wood Handbook FPL-GTR-190/282 (2010, 2021)";

/// Name, botanical name, edition of the row.
const SPECIES: [(&str, &str, &str); 14] = [
    ("Sitka spruce", "Picea sitchensis", HANDBOOK),
    ("Sitka spruce (1999)", "Picea sitchensis", "Wood Handbook FPL-GTR-113 (1999)"),
    ("Red spruce", "Picea rubens", HANDBOOK),
    ("White spruce", "Picea glauca", HANDBOOK),
    ("Engelmann spruce", "Picea engelmannii", HANDBOOK),
    ("Norway spruce", "Picea abies", "common practice, no edition"),
    ("Western redcedar", "Thuja plicata", HANDBOOK),
    ("Redwood", "Sequoia sempervirens", HANDBOOK_MEMORY),
    ("Douglas-fir", "Pseudotsuga menziesii", HANDBOOK),
    ("Sugar maple", "Acer saccharum", HANDBOOK),
    ("Red maple", "Acer rubrum", HANDBOOK_MEMORY),
    ("Honduras mahogany", "Swietenia macrophylla", HANDBOOK_MEMORY),
    ("African mahogany", "Khaya spp.", HANDBOOK_MEMORY),
    ("Black walnut", "Juglans nigra", HANDBOOK_MEMORY),
];

impl Wood {
    /// A published species at 12 % MC by its common name, upper or lower case; see [`Wood::species`]. Editions are never
    /// mixed: "Sitka spruce" is the 2021 row, "Sitka spruce (1999)" the older and stiffer one. An unknown name brings
    /// back the list.
    pub fn published(name: &str) -> Result<Wood> {
        let plain = |s: &str| s.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        let wanted = plain(name);
        let all = all()?;
        all.iter()
            .find(|w| plain(w.name()) == wanted)
            .cloned()
            .ok_or_else(|| error::unknown_name("wood", name, all.iter().map(Wood::name)))
    }

    /// Names that [`Wood::published`] knows.
    pub fn species() -> Vec<&'static str> {
        SPECIES.iter().map(|s| s.0).collect()
    }
}

fn all() -> Result<&'static [Wood]> {
    static ALL: OnceLock<Result<Vec<Wood>>> = OnceLock::new();
    match ALL.get_or_init(read) {
        Ok(woods) => Ok(woods),
        Err(e) => Err(e.clone()),
    }
}

fn read() -> Result<Vec<Wood>> {
    let bad = |problem: String| Error::Unreadable { place: "species.csv".into(), problem };
    let mut woods: Vec<Inner> = SPECIES
        .iter()
        .map(|&(name, botanical, edition)| Inner {
            botanical_name: botanical.into(),
            edition: edition.into(),
            ..Inner::named(name)
        })
        .collect();
    for record in csv::Reader::from_reader(TABLE.as_bytes()).into_deserialize() {
        let (name, quantity, value, standing, source): (String, String, f64, String, String) =
            record.map_err(|e| bad(e.to_string()))?;
        let wood = woods.iter_mut().find(|w| w.name == name).ok_or_else(|| bad(format!("unlisted species {name:?}")))?;
        let standing: Standing = standing.parse()?;
        if quantity == "specific_gravity" {
            let source = format!("1000 x specific gravity {} x 1.12, Eq. 4-14 ({standing}: {source})", number(value));
            let density = moisture::density_from_specific_gravity(value, 12.0)?;
            wood.figures.insert(Q::Density, Figure::new(Q::Density, density, Standing::Recomputed, source));
        } else {
            let quantity: Q = quantity.parse()?;
            let mut figure = Figure::new(quantity, value, standing, source);
            if standing == Standing::CommonPractice && quantity == Q::ModulusL {
                // A range for chosen stock: the lower end of the 15 to 22 % quoted for a species.
                figure.spread = Some(0.15);
            }
            wood.figures.insert(quantity, figure);
        }
    }
    woods.into_iter().map(Wood::build).collect()
}

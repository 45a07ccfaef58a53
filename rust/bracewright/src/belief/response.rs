//! Two ready-made responses: a table of stiffness, and a curve of compliance for a bare brace.

use super::Response;
use super::curve::{Surface, slopes, weights};
use crate::error::{self, Error, Result};
use serde::{Deserialize, Serialize};

/// What the second unknown is, and so how it joins the brace.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Second {
    /// The rest of the top carries load beside the brace: stiffness in N/mm, added to the brace's.
    RestStiffness,
    /// The supports give under the load: compliance in mm/N, added to the brace's.
    SupportCompliance,
}

impl Second {
    /// Deflection in mm of a brace of `compliance_mm_per_n` under `load_n`, joined with the second unknown.
    pub fn deflection_mm(self, load_n: f64, compliance_mm_per_n: f64, second: f64) -> f64 {
        match self {
            Second::RestStiffness => load_n / (1.0 / compliance_mm_per_n + second),
            Second::SupportCompliance => load_n * (compliance_mm_per_n + second),
        }
    }

    /// The unit of the second unknown.
    pub fn unit(self) -> &'static str {
        match self {
            Second::RestStiffness => "N/mm",
            Second::SupportCompliance => "mm/N",
        }
    }
}

/// Stiffness of the brace on a grid of moduli and depths, interpolated by cubics in ln stiffness over ln modulus and
/// depth. Monotone along the grid lines; outside the grid ln stiffness goes on in a straight line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "StoredTable", into = "StoredTable")]
pub struct StiffnessTable {
    stored: StoredTable,
    ln_stiffness: Surface,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct StoredTable {
    e_gpa: Vec<f64>,
    depth_mm: Vec<f64>,
    stiffness_n_per_mm: Vec<Vec<f64>>,
    load_n: f64,
    second: Second,
}

impl TryFrom<StoredTable> for StiffnessTable {
    type Error = Error;
    fn try_from(s: StoredTable) -> Result<Self> {
        Self::new(&s.e_gpa, &s.depth_mm, &s.stiffness_n_per_mm, s.load_n, s.second)
    }
}

impl From<StiffnessTable> for StoredTable {
    fn from(t: StiffnessTable) -> Self {
        t.stored
    }
}

impl StiffnessTable {
    /// `stiffness_n_per_mm[i][j]` is the brace alone at `e_gpa[i]` and `depth_mm[j]`. Both lists increase and have at
    /// least two values; stiffness is positive, does not fall with modulus and does not rise with depth.
    /// `load_n` is the rig's load, above 0.
    pub fn new(e_gpa: &[f64], depth_mm: &[f64], stiffness_n_per_mm: &[Vec<f64>], load_n: f64, second: Second) -> Result<Self> {
        error::increasing("e_gpa", e_gpa, "GPa", 2)?;
        error::positive("e_gpa[0]", e_gpa[0], "GPa")?;
        error::increasing("depth_mm", depth_mm, "mm", 2)?;
        error::positive("load_n", load_n, "N")?;
        error::same_length("e_gpa", e_gpa.len(), "stiffness_n_per_mm", stiffness_n_per_mm.len())?;
        for (i, row) in stiffness_n_per_mm.iter().enumerate() {
            error::same_length("depth_mm", depth_mm.len(), &format!("stiffness_n_per_mm[{i}]"), row.len())?;
            for (j, &k) in row.iter().enumerate() {
                let name = format!("stiffness_n_per_mm[{i}][{j}]");
                error::positive(&name, k, "N/mm")?;
                if j > 0 && k > row[j - 1] {
                    return Err(Error::BadList {
                        name,
                        problem: "is above its neighbour at less depth; carving cannot stiffen".into(),
                    });
                }
                if i > 0 && k < stiffness_n_per_mm[i - 1][j] {
                    return Err(Error::BadList {
                        name,
                        problem: "is below its neighbour of smaller modulus; it must not fall".into(),
                    });
                }
            }
        }
        let ln: Vec<f64> = stiffness_n_per_mm.iter().flatten().map(|k| k.ln()).collect();
        let ln_e = e_gpa.iter().map(|e| e.ln()).collect();
        let stored = StoredTable {
            e_gpa: e_gpa.to_vec(),
            depth_mm: depth_mm.to_vec(),
            stiffness_n_per_mm: stiffness_n_per_mm.to_vec(),
            load_n,
            second,
        };
        Ok(Self { stored, ln_stiffness: Surface::new(ln_e, depth_mm.to_vec(), &ln) })
    }

    /// Stiffness of the brace alone, N/mm.
    pub fn stiffness_n_per_mm(&self, e_gpa: f64, depth_mm: f64) -> f64 {
        self.ln_stiffness.at(e_gpa.ln(), depth_mm).exp()
    }

    /// What the second unknown is.
    pub fn second(&self) -> Second {
        self.stored.second
    }

    /// Load of the rig, N.
    pub fn load_n(&self) -> f64 {
        self.stored.load_n
    }
}

impl Response for StiffnessTable {
    fn deflection_mm(&self, e_gpa: f64, second: f64, depth_mm: f64) -> f64 {
        let compliance = (-self.ln_stiffness.at(e_gpa.ln(), depth_mm)).exp();
        self.stored.second.deflection_mm(self.stored.load_n, compliance, second)
    }
}

/// A bare brace of one wood, whose compliance goes as one over its modulus: a curve over depth is enough.
/// (It holds with shear too as long as the ratio of the moduli is fixed.) Cubic in ln compliance, monotone; outside
/// the curve a straight line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "StoredCurve", into = "StoredCurve")]
pub struct ProportionalCurve {
    load_n: f64,
    second: Second,
    depth_mm: Vec<f64>,
    compliance_mm_per_n: Vec<f64>,
    ln_compliance: Vec<f64>,
    slope_per_mm: Vec<f64>,
}

#[derive(Serialize, Deserialize)]
struct StoredCurve {
    depth_mm: Vec<f64>,
    compliance_mm_per_n: Vec<f64>,
    load_n: f64,
    second: Second,
}

impl TryFrom<StoredCurve> for ProportionalCurve {
    type Error = Error;
    fn try_from(s: StoredCurve) -> Result<Self> {
        Self::new(&s.depth_mm, &s.compliance_mm_per_n, s.load_n, s.second)
    }
}

impl From<ProportionalCurve> for StoredCurve {
    fn from(c: ProportionalCurve) -> Self {
        Self { depth_mm: c.depth_mm, compliance_mm_per_n: c.compliance_mm_per_n, load_n: c.load_n, second: c.second }
    }
}

impl ProportionalCurve {
    /// `compliance_mm_per_n[j]` is the deflection per newton of the brace at 1 GPa and `depth_mm[j]`. Depths increase,
    /// compliances are positive and do not fall; at least two of each. `load_n` is the rig's load, above 0.
    pub fn new(depth_mm: &[f64], compliance_mm_per_n: &[f64], load_n: f64, second: Second) -> Result<Self> {
        error::increasing("depth_mm", depth_mm, "mm", 2)?;
        error::same_length("depth_mm", depth_mm.len(), "compliance_mm_per_n", compliance_mm_per_n.len())?;
        error::positive("load_n", load_n, "N")?;
        for (j, &c) in compliance_mm_per_n.iter().enumerate() {
            let name = format!("compliance_mm_per_n[{j}]");
            error::positive(&name, c, "mm/N")?;
            if j > 0 && c < compliance_mm_per_n[j - 1] {
                return Err(Error::BadList {
                    name,
                    problem: "is below its neighbour at less depth; carving cannot stiffen".into(),
                });
            }
        }
        let ln_compliance: Vec<f64> = compliance_mm_per_n.iter().map(|c| c.ln()).collect();
        let slope_per_mm = slopes(depth_mm, &ln_compliance, true);
        Ok(Self {
            load_n,
            second,
            depth_mm: depth_mm.to_vec(),
            compliance_mm_per_n: compliance_mm_per_n.to_vec(),
            ln_compliance,
            slope_per_mm,
        })
    }
}

impl Response for ProportionalCurve {
    fn deflection_mm(&self, e_gpa: f64, second: f64, depth_mm: f64) -> f64 {
        let (i, w) = weights(&self.depth_mm, depth_mm);
        let (f, s) = (&self.ln_compliance, &self.slope_per_mm);
        let ln = w[0] * f[i] + w[1] * s[i] + w[2] * f[i + 1] + w[3] * s[i + 1];
        self.second.deflection_mm(self.load_n, ln.exp() / e_gpa, second)
    }
}

use bracewright::layout::*;
use bracewright::top::*;
use std::time::Instant;
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let f = std::env::args().nth(1).unwrap();
    let fine: f64 = std::env::args().nth(2).unwrap_or("1".into()).parse()?;
    let l = Layout::from_json_str("f", &std::fs::read_to_string(&f)?)?;
    let t0 = Instant::now();
    let opt = TopOptions { rim: Rim::Hinged, bridge: None, fineness: fine };
    let top = Top::new(&l, &opt)?;
    println!("mesh {:?} {:?}", t0.elapsed(), top.mesh_report());
    if let Some(out) = std::env::args().nth(3) {
        let m = top.mesh();
        let mut s = String::new();
        let b = l.outline().bounds_mm();
        s += &format!(
            "<svg xmlns='http://www.w3.org/2000/svg' viewBox='{} {} {} {}' width='1400'>",
            b[0] - 5.,
            b[2] - 5.,
            b[1] - b[0] + 10.,
            b[3] - b[2] + 10.
        );
        for (i, c) in m.cells.cells.iter().enumerate() {
            let p: Vec<String> =
                c.iter().map(|k| format!("{:.2},{:.2}", m.cells.corners[*k][0], m.cells.corners[*k][1])).collect();
            let rib = m.of_band.iter().any(|b| b.contains(&i));
            s += &format!(
                "<polygon points='{}' fill='{}' stroke='black' stroke-width='0.3'/>",
                p.join(" "),
                if rib {
                    "#fc8"
                } else if c.len() == 4 {
                    "#cfc"
                } else {
                    "none"
                }
            );
        }
        s += "</svg>";
        std::fs::write(out, s)?;
    }
    println!("mass {} g", top.mass_g());
    let t0 = Instant::now();
    let u = top.under(&[TopLoad::Strings { couple_n_m: 10.0, pull_n: 600.0, press_n: 0.0 }]);
    match u {
        Ok(u) => {
            println!("static {:?} turn {} greatest {:?}", t0.elapsed(), u.bridge_turn_deg()?, u.greatest_mm());
        }
        Err(e) => println!("{e}"),
    }
    let t0 = Instant::now();
    let m = top.modes(10)?;
    println!("modes {:?} {:?}", t0.elapsed(), m.frequencies_hz());
    let t0 = Instant::now();
    let s = top.shaving(&[TopLoad::Strings { couple_n_m: 10.0, pull_n: 600.0, press_n: 0.0 }], None, 4, 15.0)?;
    println!("shave {:?} {:?}", t0.elapsed(), s.value);
    for b in s.braces.iter().take(2) {
        println!("{} {:?}\n {:?}", b.name, b.g_per_mm, b.per_g());
    }
    Ok(())
}

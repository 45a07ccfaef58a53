use bracewright::*;
use bracewright::belief::Hand;
use std::time::Instant;
#[test]
fn flow() {
    let wood = Wood::published("Sitka spruce").unwrap();
    let blank = Blank::new(&wood, 420.0, 8.0, 17.0, Some(23.6)).unwrap();
    println!("density {} +- {}, E {} {}", blank.density_kg_m3(), blank.density_spread(), blank.modulus_gpa(), blank.modulus_spread());
    let rig = Rig::three_point(380.0, 19.6).unwrap();
    let t = Instant::now();
    let e = blank.expected(&rig).unwrap();
    println!("{:?} {e:#?}", t.elapsed());
    let reading = rig.reading(0.65).unwrap();
    let est = rig.modulus(&Brace::uncarved(&blank), &reading).unwrap();
    println!("{est:#?}");
    let blank = blank.learn(&reading).unwrap();
    println!("learned E {} spread {}", blank.modulus_gpa(), blank.modulus_spread());
    let shape = Profile::straight(420.0, 16.0).unwrap().with_ends(50.0, 3.0, Blend::Cosine).unwrap()
        .with_scallop(110.0, 100.0, 7.0, ScallopShape::Cosine).unwrap().with_scallop(310.0, 100.0, 7.0, ScallopShape::Cosine).unwrap();
    let brace = Brace::new(&blank, &shape, &Section::parabolic_cap(CapRise::Mm(5.0)).unwrap()).unwrap();
    println!("mass {}", brace.mass_g().unwrap());
    println!("{:#?}", brace.checks(Some(60.0), Some(25.0), Some(5.0)).unwrap().words);
    let t = Instant::now();
    let e = rig.expected(&brace).unwrap();
    println!("{:?} {:?} u {} disc {} sect {}", t.elapsed(), e.deflection_mm, e.u_mm, e.discretisation_mm, e.section_deflection_mm);
    let t = Instant::now();
    println!("{:?} {:?}", brace.frequencies(3, false).unwrap(), t.elapsed());
    let t = Instant::now();
    let w = brace.working(&brace.stations_mm(22), 5.0).unwrap();
    println!("{:?}", t.elapsed());
    for i in 0..22 { println!("{:6.1} drawn {:7.3} works {:7.3} ratio {:.3}", w.x_mm[i], w.drawn_n_m2[i], w.working_n_m2[i], w.ratio[i]); }
    println!("disc {}", w.discretisation);
    let t = Instant::now();
    let plan = plan_passes(&Brace::uncarved(&blank), &brace, &PlanOptions::new(1.0)).unwrap();
    println!("plan {:?} {} passes, {:?}", t.elapsed(), plan.passes.len(), plan.notes);
    for p in &plan.passes { println!("{} deepest {:.3} off {:.3} left {:.3} {:?}", p.what, p.deepest_mm, p.grams_off, p.grams_left, p.cut_mm); }
    println!("readings {:?}", plan.readings(&rig).unwrap().iter().map(|e| e.deflection_mm).collect::<Vec<_>>());
    let t = Instant::now();
    let s = brace.sensitivity(&rig, 21).unwrap();
    println!("sens {:?} {:?} {:?}", t.elapsed(), s.percent_per_mm, s.percent_per_gram);
    let t = Instant::now();
    let f = carve_to(&brace, &rig.between(1.95, 2.10).unwrap(), &["scallop depth"], &FitOptions::default()).unwrap();
    println!("fit {:?} {} solves {} value {} {:?}", t.elapsed(), f.words, f.solves, f.value, f.ranges);
    let t = Instant::now();
    let f = carve_to(&brace, &rig.between(1.95, 2.10).unwrap(), &["scallop depth", "height"], &FitOptions::default()).unwrap();
    println!("fit2 {:?} {} solves {} value {} {:?}", t.elapsed(), f.words, f.solves, f.value, f.ranges);
    let t = Instant::now();
    let f = carve_to(&brace, &Goal::frequency(200.0,200.0).unwrap(), &["scallop depth"], &FitOptions::default()).unwrap();
    println!("fit3 {:?} {} solves {} value {} {:?}", t.elapsed(), f.words, f.solves, f.value, f.ranges);
    let goal = rig.between(1.5, 1.65).unwrap();
    let t = Instant::now();
    let bench = Bench::new(&plan, &goal, &BenchOptions::default()).unwrap();
    println!("bench {:?}", t.elapsed());
    let bench = bench.after_reading(&reading).unwrap(); println!("{}", bench.next_pass().unwrap().words); let bench = bench.after_cap(Some(2.2)).unwrap(); let bench = bench.after_reading(&rig.reading(0.839).unwrap()).unwrap();
    let t = Instant::now();
    let n = bench.next_pass().unwrap();
    println!("{:?} {} grams {} ", t.elapsed(), n.words, n.grams);
    let bench = bench.after_pass(&Seen { shavings_g: Some(n.grams * 0.97), reading: Some(rig.reading(n.advice.expected_mm.mean).unwrap()), ..Default::default() }).unwrap();
    println!("{:?}", bench.log().last());
    println!("{}", bench.next_pass().unwrap().words);
    let stick = Blank::new(&wood, 420.0, 7.0, 19.0, Some(22.0)).unwrap().with_modulus(9.5, 0.02).unwrap();
    let t = Instant::now();
    let c = copy_stiffness(&brace, None, &stick, &rig, 3.0).unwrap();
    println!("copy {:?} {} worst {}", t.elapsed(), c.words, c.worst_miss);
    let _ = Hand::new(0.0, 0.1, 0.1);
}

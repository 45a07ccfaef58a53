use bracewright::belief::*; use bracewright::advice::*;
#[test] fn t(){
 let es:Vec<f64>=(0..21).map(|i|4.5*6f64.powf(i as f64/20.)).collect(); let ds:Vec<f64>=(0..20).map(|i|i as f64*0.5).collect();
 let k:Vec<Vec<f64>>=es.iter().map(|e|ds.iter().map(|d|3.5*e.powf(0.7)*2.*(-0.15*d-0.004*d*d).exp()).collect()).collect();
 let r=StiffnessTable::new(&es,&ds,&k,20.,Second::RestStiffness).unwrap();
 for (se,sk,u,cal) in [(0.12,0.25,0.0053,true),(0.12,0.25,0.0053,false),(0.12,0.25,0.0005,true),(0.3,0.5,0.0005,false),(0.3,1.0,0.00005,false),(0.01,1.0,0.00005,false)]{
  let mut b=Belief::new(Unknown::LogNormal{median:11.5,sd_ln:se},Unknown::LogNormal{median:18.,sd_ln:sk},Hand::new(0.,0.1,0.1).unwrap()).unwrap();
  let (e,kk)=(11.5*(0.8*se).exp(),18.0*(-0.7*sk as f64).exp()); let mut d=0.0;
  for p in 0..6{ 
    if p>0 { let a=0.5; d+=0.5+0.06; let mut pp=Pass::aimed(a).unwrap(); if cal {pp=pp.with_caliper(0.56,0.05).unwrap();} b=b.after_pass(pp).unwrap(); }
    b=b.after_reading_with_u(r.deflection_mm(e,kk,d)+ u*0.5,u).unwrap();
    let t=std::time::Instant::now(); let l=b.linear(&r).unwrap(); let t1=t.elapsed();
    let t=std::time::Instant::now(); let dr=b.draws(&r,20000,1).unwrap(); let t2=t.elapsed();
    let po=dr.posterior();
    let w=Window::between(po.deflection_mm.mean*1.2,po.deflection_mm.mean*1.3).unwrap();
    let t=std::time::Instant::now(); let ad=b.advise(&r,&w,&Rule::new(0.02,9.).unwrap()).unwrap(); let t3=t.elapsed();
    println!("se{se} sk{sk} u{u} cal{cal} pass{p} ess {:.0} lin {t1:?} conv {} draws {t2:?} advise {t3:?} E {:.3}±{:.3} lin {:.3}±{:.3} {:?}",po.effective_draws,l.converged,po.e_gpa.mean,po.e_gpa.sd,l.e_gpa.mean,l.e_gpa.sd,ad.kind);
  }}
}

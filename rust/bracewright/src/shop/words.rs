//! A run of the virtual shop as a table and a sentence.

use super::ShopRun;

impl ShopRun {
    /// The shares in a sentence, with what the number of braces leaves open of them.
    pub fn text(&self) -> String {
        let n = self.braces.len() as f64;
        let error = |p: f64| (p * (1.0 - p) / n).sqrt();
        let share = |p: f64| format!("{:.1} \u{b1} {:.1} %", 100.0 * p, 100.0 * error(p));
        let gave_up = self.braces.iter().filter(|b| b.gave_up).count();
        let given_up =
            if gave_up == 0 { String::new() } else { format!(" {gave_up} were given up after the most passes allowed.") };
        format!(
            "Of {} braces {} ended too soft, {} in the window ({:.3} to {:.3} mm) and {} too stiff, after {:.2} passes and {:.2} g \
             on average.{given_up}",
            self.braces.len(),
            share(self.too_soft),
            share(self.in_window),
            self.window.low_mm,
            self.window.high_mm,
            share(self.too_stiff),
            self.passes,
            self.grams_off
        )
    }
}

/// Runs side by side, one row each: too soft, in the window, too stiff, passes, grams.
pub fn table(runs: &[(String, &ShopRun)]) -> String {
    let wide = runs.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0).max(6);
    let mut out = format!("{:wide$}  too soft  in window  too stiff  passes  grams off\n", "policy");
    for (name, r) in runs {
        out.push_str(&format!(
            "{name:wide$}  {:6.1} %  {:7.1} %  {:7.1} %  {:6.2}  {:9.2}\n",
            100.0 * r.too_soft,
            100.0 * r.in_window,
            100.0 * r.too_stiff,
            r.passes,
            r.grams_off
        ));
    }
    out
}

//! How the number of plies changes springback and table of one board: `cargo run --example compare_stacks`.
#![allow(clippy::print_stdout, reason = "an example prints what it has made")]

use std::error::Error;

use overbend::document::{Document, Starter, with_values};
use overbend::run;

fn main() -> Result<(), Box<dyn Error>> {
    let starter = Starter::find("twin-tip").ok_or("no such starter")?;
    println!("{:>5}  {:>12}  {:>12}  {:>10}", "plies", "springback %", "table tip mm", "forecast mm");
    for plies in 1..=4 {
        // The core stays 8 mm thick.
        let values = [
            ("layers[1].plies".to_owned(), plies.to_string()),
            ("layers[1].thickness".to_owned(), (8.0 / f64::from(plies)).to_string()),
        ];
        let text = with_values(starter.text, &values);
        let document = Document::parse("twin-tip", &text).map_err(|p| p[0].to_string())?;
        let job = document.job().map_err(|p| p[0].to_string())?;
        let outcome = run::build(&job).map_err(|f| f[0].to_string())?;
        let figure =
            |place: &str| outcome.result.pointer(place).and_then(serde_json::Value::as_f64).unwrap_or(f64::NAN);
        let band = figure("/forecast/tip_height_mm/p95") - figure("/forecast/tip_height_mm/p05");
        println!(
            "{plies:>5}  {:>12.2}  {:>12.1}  {band:>10.2}",
            100.0 * figure("/stack/springback_share"),
            figure("/table/tip_height_mm"),
        );
    }
    Ok(())
}

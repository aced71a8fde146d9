use super::zone::FixFacts;

impl FixFacts {
    /// Cost, effort, time and what must come first, as one line.
    #[must_use]
    pub fn terms(&self) -> String {
        let season = if self.seasons == "1" {
            "season"
        } else {
            "seasons"
        };
        let a_year = if self.a_year.is_empty() {
            String::new()
        } else {
            format!(", {}", self.a_year)
        };
        let mut text = format!(
            "{}{a_year}; effort {} of 5; works in {} {season}",
            self.cost, self.effort, self.seasons
        );
        if !self.after.is_empty() {
            text.push_str(&format!("; after: {}", self.after.join(", ")));
        }
        if self.left_out {
            text.push_str("; left out by the budget");
        }
        text
    }
}

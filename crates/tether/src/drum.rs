//! A line wound on a drum: drum, line and way of winding in; capacity, layers, radius and line pull out.

use std::f64::consts::PI;

use beamstay_numerics::domain::{OutOfRange, in_range};

/// The bare drum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drum {
    /// Diameter of the barrel that the first layer lies on, m.
    pub core_diameter_m: f64,
    /// Diameter up to which line may be wound, m; leave freeboard below the edge of the flange.
    pub full_diameter_m: f64,
    /// Width between the flanges, m.
    pub width_m: f64,
}

/// How one layer lies on the one below.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Lay {
    /// Turn upon turn: each layer is a diameter further out. The cautious count.
    Square,
    /// Each turn in the groove between two turns below: layers rise by √3/2 of a diameter.
    Nested,
}

/// A drum with a line on it, all counts settled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Winding {
    drum: Drum,
    line_diameter_m: f64,
    packing_loss_ratio: f64,
    rise_m: f64,
    layers_count: u64,
    odd_turns_count: u64,
    even_turns_count: u64,
}

/// One layer of a [`Winding`].
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct DrumLayer {
    /// Number of the layer, 1 on the barrel.
    pub number: u64,
    /// Turns in it, before the packing loss.
    pub turns_count: u64,
    /// Radius of the centre of the line, m.
    pub centre_radius_m: f64,
    /// Length it holds, packing loss taken off, m.
    pub length_m: f64,
}

/// What is on the drum at some paid-out length.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Wound {
    /// Length on the drum, m.
    pub length_m: f64,
    /// Number of the layer that the line leaves from, 1 on the barrel; 1 also on an empty drum.
    pub outermost_layer: u64,
    /// Length in that layer, m.
    pub outermost_layer_length_m: f64,
    /// Radius of the centre of the line in that layer, m: the lever arm of the line pull.
    pub lever_radius_m: f64,
    /// Diameter over that layer, m.
    pub outer_diameter_m: f64,
}

/// Lets a count survive the rounding of a quotient that should be whole.
const WHOLE_TURN_SLACK: f64 = 1e-9;

fn whole(quotient: f64) -> u64 {
    (quotient * (1.0 + WHOLE_TURN_SLACK)) as u64
}

impl Winding {
    /// Counts layers and turns. `packing_loss_ratio` is the part of the ideal length that loose or crossed winding
    /// costs: 0 for a spooling machine, up to 0.3 for winding by hand (common practice).
    ///
    /// Square: layers ⌊(Df − D0)/(2 d)⌋, turns ⌊W/d⌋ each. Nested: layers rise by (√3/2) d after the first, and every
    /// second one has a turn less if there is no room for the half pitch.
    ///
    /// # Errors
    /// [`OutOfRange`] if the barrel is not 1 mm to 10 m, the width not 1 mm to 10 m, the line not 10 µm to 0.2 m, the
    /// packing loss not 0 to 0.5, or if not even one layer of one turn fits.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::drum::{Drum, Lay, Winding};
    /// let drum = Drum { core_diameter_m: 0.20, full_diameter_m: 0.32, width_m: 0.15 };
    /// let winding = Winding::new(drum, 0.003, Lay::Square, 0.0).unwrap();
    /// assert_eq!(winding.layers_count(), 20);
    /// assert!((winding.capacity_m() - 816.8140899).abs() < 1e-6);
    /// ```
    pub fn new(
        drum: Drum,
        line_diameter_m: f64,
        lay: Lay,
        packing_loss_ratio: f64,
    ) -> Result<Self, OutOfRange> {
        let d = in_range("tether diameter", "m", line_diameter_m, 1e-5, 0.2)?;
        let core = in_range("drum diameter", "m", drum.core_diameter_m, 1e-3, 10.0)?;
        let full = in_range("full drum diameter", "m", drum.full_diameter_m, core + 2.0 * d, 20.0)?;
        let width = in_range("drum width", "m", drum.width_m, d, 10.0)?;
        in_range("packing loss", "", packing_loss_ratio, 0.0, 0.5)?;
        let room_m = 0.5 * (full - core);
        let turns_count = whole(width / d).max(1);
        let (rise_m, layers_count, even_turns_count) = match lay {
            Lay::Square => (d, whole(room_m / d), turns_count),
            Lay::Nested => {
                let rise_m = 0.75_f64.sqrt() * d;
                let half_pitch_fits = width / d * (1.0 + WHOLE_TURN_SLACK) >= turns_count as f64 + 0.5;
                let even = if half_pitch_fits { turns_count } else { turns_count - 1 };
                let layers = 1 + whole((room_m - d).max(0.0) / rise_m);
                // A single turn has no groove to nest in.
                if even == 0 { (d, whole(room_m / d), turns_count) } else { (rise_m, layers, even) }
            }
        };
        Ok(Self {
            drum,
            line_diameter_m: d,
            packing_loss_ratio,
            rise_m,
            layers_count: layers_count.max(1),
            odd_turns_count: turns_count,
            even_turns_count,
        })
    }

    /// Layers that fit.
    pub fn layers_count(&self) -> u64 {
        self.layers_count
    }

    /// The drum it is wound on.
    pub fn drum(&self) -> Drum {
        self.drum
    }

    /// Length that the full drum holds, packing loss taken off, m.
    pub fn capacity_m(&self) -> f64 {
        self.length_in_layers_m(self.layers_count)
    }

    /// One layer, counted from 1 on the barrel; `None` beyond [`Self::layers_count`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::drum::{Drum, Lay, Winding};
    /// let drum = Drum { core_diameter_m: 0.20, full_diameter_m: 0.32, width_m: 0.15 };
    /// let winding = Winding::new(drum, 0.003, Lay::Nested, 0.0).unwrap();
    /// assert_eq!(winding.layer(2).unwrap().turns_count, 49);
    /// assert!(winding.layer(23).is_none());
    /// ```
    pub fn layer(&self, number: u64) -> Option<DrumLayer> {
        if number == 0 || number > self.layers_count {
            return None;
        }
        let turns_count = if number % 2 == 1 { self.odd_turns_count } else { self.even_turns_count };
        let centre_radius_m = self.centre_radius_m(number);
        let length_m = 2.0 * PI * centre_radius_m * turns_count as f64 * (1.0 - self.packing_loss_ratio);
        Some(DrumLayer { number, turns_count, centre_radius_m, length_m })
    }

    /// Smallest bend radius of the line on the drum, m: that of the barrel, D0/2. The glass in the middle of the line
    /// lies half a line diameter further out; the barrel is the cautious figure.
    pub fn innermost_bend_radius_m(&self) -> f64 {
        0.5 * self.drum.core_diameter_m
    }

    /// Line pull at constant torque in a layer over that in the first: mean diameter of the first layer over that of
    /// this one.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::drum::{Drum, Lay, Winding};
    /// let drum = Drum { core_diameter_m: 0.20, full_diameter_m: 0.32, width_m: 0.15 };
    /// let winding = Winding::new(drum, 0.003, Lay::Square, 0.0).unwrap();
    /// assert!((winding.line_pull_ratio(20).unwrap() - 0.203 / 0.317).abs() < 1e-12);
    /// ```
    pub fn line_pull_ratio(&self, layer_number: u64) -> Option<f64> {
        Some(self.centre_radius_m(1) / self.layer(layer_number)?.centre_radius_m)
    }

    /// What is on the drum when `paid_out_length_m` of a line of `line_length_m` hangs outside.
    ///
    /// # Errors
    /// [`OutOfRange`] if the paid-out length is not 0 to the length of the line, or the rest is more than the
    /// capacity.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::drum::{Drum, Lay, Winding};
    /// let drum = Drum { core_diameter_m: 0.20, full_diameter_m: 0.32, width_m: 0.15 };
    /// let winding = Winding::new(drum, 0.003, Lay::Square, 0.0).unwrap();
    /// let wound = winding.wound(500.0, 480.0).unwrap();
    /// assert_eq!((wound.length_m, wound.outermost_layer), (20.0, 1));
    /// assert!((wound.lever_radius_m - 0.1015).abs() < 1e-12);
    /// assert!(winding.wound(900.0, 0.0).is_err(), "more than the drum holds");
    /// ```
    pub fn wound(&self, line_length_m: f64, paid_out_length_m: f64) -> Result<Wound, OutOfRange> {
        in_range("length of the line", "m", line_length_m, 0.0, 1e7)?;
        in_range("paid-out length", "m", paid_out_length_m, 0.0, line_length_m)?;
        let capacity_m = self.capacity_m();
        let slack_m = WHOLE_TURN_SLACK * capacity_m;
        let left_m = line_length_m - paid_out_length_m;
        let length_m = in_range("length on the drum", "m", left_m, 0.0, capacity_m + slack_m)?;
        let outermost_layer = self.layer_that_ends(length_m);
        let lever_radius_m = self.centre_radius_m(outermost_layer);
        Ok(Wound {
            length_m,
            outermost_layer,
            outermost_layer_length_m: (length_m - self.length_in_layers_m(outermost_layer - 1)).max(0.0),
            lever_radius_m,
            outer_diameter_m: 2.0 * lever_radius_m + self.line_diameter_m,
        })
    }

    /// First layer (from 1) at whose end at least `length_m` is wound; the last one if none.
    fn layer_that_ends(&self, length_m: f64) -> u64 {
        let (mut below, mut reaches) = (0, self.layers_count);
        while reaches - below > 1 {
            let middle = below + (reaches - below) / 2;
            if self.length_in_layers_m(middle) >= length_m { reaches = middle } else { below = middle }
        }
        reaches
    }

    fn centre_radius_m(&self, number: u64) -> f64 {
        0.5 * (self.drum.core_diameter_m + self.line_diameter_m) + (number - 1) as f64 * self.rise_m
    }

    /// Sum of the lengths of layers 1 to `count`, in closed form.
    fn length_in_layers_m(&self, count: u64) -> f64 {
        let odd_layers = count.div_ceil(2) as f64;
        let even_layers = (count / 2) as f64;
        let first_diameter_m = self.drum.core_diameter_m + self.line_diameter_m;
        // Mean diameter of layer i is D1 + 2 (i − 1) rise; i = 1, 3, … and i = 2, 4, … summed apart.
        let odd = odd_layers * (first_diameter_m + 2.0 * self.rise_m * (odd_layers - 1.0));
        let even = even_layers * (first_diameter_m + 2.0 * self.rise_m * even_layers);
        let turns = self.odd_turns_count as f64 * odd + self.even_turns_count as f64 * even;
        PI * turns * (1.0 - self.packing_loss_ratio)
    }
}

/// Ratio of the tensions on both sides of a capstan or of dead turns on a drum, exp(μ θ) (Euler and Eytelwein). Friction
/// coefficient 0 to 2, wrap 0 to 200 rad.
///
/// # Errors
/// [`OutOfRange`] for an argument outside its range.
///
/// # Examples
/// ```
/// use std::f64::consts::PI;
/// use beamstay_tether::drum::capstan_ratio;
/// assert!((capstan_ratio(0.1, PI).unwrap() - 1.369108).abs() < 1e-6);
/// ```
pub fn capstan_ratio(friction_coefficient: f64, wrap_rad: f64) -> Result<f64, OutOfRange> {
    in_range("friction coefficient", "", friction_coefficient, 0.0, 2.0)?;
    in_range("wrap angle", "rad", wrap_rad, 0.0, 200.0)?;
    Ok((friction_coefficient * wrap_rad).exp())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const DRUM: Drum = Drum { core_diameter_m: 0.20, full_diameter_m: 0.32, width_m: 0.15 };

    #[test]
    fn closed_sum_is_the_sum_of_the_layers() {
        for lay in [Lay::Square, Lay::Nested] {
            let winding = Winding::new(DRUM, 0.0031, lay, 0.1).unwrap();
            let sum: f64 = (1..=winding.layers_count()).map(|i| winding.layer(i).unwrap().length_m).sum();
            assert_relative_eq!(winding.capacity_m(), sum, max_relative = 1e-12);
        }
    }

    #[test]
    fn half_a_pitch_of_room_keeps_all_turns() {
        let wide = Drum { width_m: 0.1515, ..DRUM };
        assert_eq!(Winding::new(wide, 0.003, Lay::Nested, 0.0).unwrap().layer(2).unwrap().turns_count, 50);
        let narrow = Drum { width_m: 0.1514, ..DRUM };
        assert_eq!(Winding::new(narrow, 0.003, Lay::Nested, 0.0).unwrap().layer(2).unwrap().turns_count, 49);
    }

    #[test]
    fn a_drum_one_turn_wide_does_not_nest() {
        let drum = Drum { width_m: 0.003, ..DRUM };
        let nested = Winding::new(drum, 0.003, Lay::Nested, 0.0).unwrap();
        let square = Winding::new(drum, 0.003, Lay::Square, 0.0).unwrap();
        assert_eq!(nested, square);
    }

    #[test]
    fn guards() {
        let refused = |drum: Drum, d: f64, loss: f64| Winding::new(drum, d, Lay::Square, loss).is_err();
        assert!(refused(Drum { core_diameter_m: 0.0, ..DRUM }, 0.003, 0.0));
        assert!(refused(Drum { full_diameter_m: 0.2059, ..DRUM }, 0.003, 0.0));
        assert!(refused(Drum { width_m: 0.0029, ..DRUM }, 0.003, 0.0));
        assert!(refused(DRUM, 0.0, 0.0) && refused(DRUM, f64::NAN, 0.0));
        assert!(refused(DRUM, 0.003, 0.51) && refused(DRUM, 0.003, -0.01));
        let winding = Winding::new(DRUM, 0.003, Lay::Square, 0.0).unwrap();
        assert!(winding.wound(816.0, 816.1).is_err());
        assert!(winding.wound(816.0, -0.1).is_err());
        assert!(winding.wound(winding.capacity_m(), 0.0).is_ok());
        assert!(winding.wound(winding.capacity_m() + 0.01, 0.0).is_err());
        assert!(capstan_ratio(-0.1, 1.0).is_err() && capstan_ratio(0.1, 201.0).is_err());
    }

    proptest! {
        #[test]
        fn prop_capacity_is_monotone(core in 0.02..1.0f64, depth in 0.01..0.5f64, width in 0.02..1.0f64, d in 0.0005..0.009f64, nested: bool) {
            let lay = if nested { Lay::Nested } else { Lay::Square };
            let capacity = |core: f64, depth: f64, width: f64, d: f64, loss: f64| {
                let drum = Drum { core_diameter_m: core, full_diameter_m: core + 2.0 * depth, width_m: width };
                Winding::new(drum, d, lay, loss).unwrap().capacity_m()
            };
            let base = capacity(core, depth, width, d, 0.1);
            prop_assert!(base > 0.0);
            prop_assert!(capacity(core, depth * 1.1, width, d, 0.1) >= base);
            prop_assert!(capacity(core, depth, width * 1.1, d, 0.1) >= base);
            prop_assert!(capacity(core * 1.1, depth, width, d, 0.1) > base);
            prop_assert!(capacity(core, depth, width, d, 0.2) < base);
            // A full drum of line never holds more than the space there is.
            let space_m3 = PI * ((core + 2.0 * depth).powi(2) - core * core) / 4.0 * width;
            prop_assert!(capacity(core, depth, width, d, 0.0) * PI * d * d / 4.0 <= space_m3 * 0.9069);
        }

        #[test]
        fn prop_wound_state_is_consistent(share in 0.0..=1.0f64, d in 0.0005..0.009f64, nested: bool) {
            let lay = if nested { Lay::Nested } else { Lay::Square };
            let winding = Winding::new(DRUM, d, lay, 0.05).unwrap();
            let line = winding.capacity_m();
            let wound = winding.wound(line, line * (1.0 - share)).unwrap();
            let layer = winding.layer(wound.outermost_layer).unwrap();
            prop_assert!(wound.outermost_layer_length_m <= layer.length_m * (1.0 + 1e-6));
            prop_assert!(wound.outer_diameter_m <= DRUM.full_diameter_m + 1e-9);
            prop_assert!(wound.lever_radius_m > winding.innermost_bend_radius_m());
        }

        #[test]
        fn prop_no_panic_on_any_numbers(core: f64, full: f64, width: f64, d: f64, loss: f64, line: f64, out: f64, nested: bool) {
            let lay = if nested { Lay::Nested } else { Lay::Square };
            let drum = Drum { core_diameter_m: core, full_diameter_m: full, width_m: width };
            if let Ok(winding) = Winding::new(drum, d, lay, loss) {
                prop_assert!(winding.capacity_m().is_finite());
                if let Ok(wound) = winding.wound(line, out) {
                    prop_assert!(wound.lever_radius_m.is_finite());
                }
            }
        }
    }
}

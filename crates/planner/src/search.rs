//! Finding the best plan: a goal over inputs of the scenario with every limit as a margin.

pub mod quadratic;
pub mod sequential;

//! Scenario, coupled operating point, limits, search and trades.

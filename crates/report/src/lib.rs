//! Figures and pages made from planner results.

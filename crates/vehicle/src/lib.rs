//! Multirotor, fixed wing, underwater vehicle and fixed load: forces in, electrical demand out.

//! Actuator disk, blade element and measured rotors, motor and controller.

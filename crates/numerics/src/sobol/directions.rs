//! Direction numbers of the dimensions after the first: the polynomial with all its coefficients, highest first, and the
//! initial numbers m₁, m₂, …. First rows of the table "new-joe-kuo-6" (S. Joe, F. Y. Kuo, Constructing Sobol sequences
//! with better two-dimensional projections, SIAM Journal on Scientific Computing 30, 2635, 2008).
//!
//! Copyright (c) 2008, Frances Y. Kuo and Stephen Joe. All rights reserved. Redistribution and use in source and binary
//! forms, with or without modification, are permitted provided that the following conditions are met: redistributions of
//! source code must retain the above copyright notice, this list of conditions and the following disclaimer;
//! redistributions in binary form must reproduce them in the documentation or other materials provided with the
//! distribution; neither the names of the copyright holders nor the names of the University of New South Wales and the
//! University of Waikato and its contributors may be used to endorse or promote products derived from this software
//! without specific prior written permission. This software is provided by the copyright holders "as is" and any express
//! or implied warranties, including, but not limited to, the implied warranties of merchantability and fitness for a
//! particular purpose are disclaimed. In no event shall the copyright holders be liable for any direct, indirect,
//! incidental, special, exemplary, or consequential damages arising in any way out of the use of this software.

/// Polynomial and initial numbers of dimensions 2, 3, ….
pub(super) const DIRECTIONS: &[(u32, &[u32])] = &[
    (0b11, &[1]),
    (0b111, &[1, 3]),
    (0b1011, &[1, 3, 1]),
    (0b1101, &[1, 1, 1]),
    (0b10011, &[1, 1, 3, 3]),
    (0b11001, &[1, 3, 5, 13]),
    (0b100101, &[1, 1, 5, 5, 17]),
    (0b101001, &[1, 1, 5, 5, 5]),
    (0b101111, &[1, 1, 7, 11, 19]),
    (0b110111, &[1, 1, 5, 1, 1]),
    (0b111011, &[1, 1, 1, 3, 11]),
    (0b111101, &[1, 3, 5, 5, 31]),
    (0b1000011, &[1, 3, 3, 9, 7, 49]),
    (0b1011011, &[1, 1, 1, 15, 21, 21]),
    (0b1100001, &[1, 3, 1, 13, 27, 49]),
    (0b1100111, &[1, 1, 1, 15, 7, 5]),
    (0b1101101, &[1, 3, 1, 15, 13, 25]),
    (0b1110011, &[1, 1, 5, 5, 19, 61]),
    (0b10000011, &[1, 3, 7, 11, 23, 15, 103]),
    (0b10001001, &[1, 3, 7, 13, 13, 15, 69]),
    (0b10001111, &[1, 1, 3, 13, 7, 35, 63]),
    (0b10010001, &[1, 3, 5, 9, 1, 25, 53]),
    (0b10011101, &[1, 3, 1, 13, 9, 35, 107]),
    (0b10100111, &[1, 3, 1, 5, 27, 61, 31]),
    (0b10101011, &[1, 1, 5, 11, 19, 41, 61]),
    (0b10111001, &[1, 3, 5, 3, 3, 13, 69]),
    (0b10111111, &[1, 1, 7, 13, 1, 19, 1]),
    (0b11000001, &[1, 3, 7, 5, 13, 19, 59]),
    (0b11001011, &[1, 1, 3, 9, 25, 29, 41]),
    (0b11010011, &[1, 3, 5, 13, 23, 1, 55]),
    (0b11010101, &[1, 3, 7, 3, 13, 59, 17]),
    (0b11100101, &[1, 3, 1, 3, 5, 53, 69]),
    (0b11101111, &[1, 1, 5, 5, 23, 33, 13]),
    (0b11110001, &[1, 1, 7, 7, 1, 61, 123]),
    (0b11110111, &[1, 1, 7, 9, 13, 61, 49]),
    (0b11111101, &[1, 3, 3, 5, 3, 55, 33]),
    (0b100011101, &[1, 3, 1, 15, 31, 13, 49, 245]),
    (0b100101011, &[1, 3, 5, 15, 31, 59, 63, 97]),
    (0b100101101, &[1, 3, 1, 11, 11, 11, 77, 249]),
    (0b101001101, &[1, 3, 1, 11, 27, 43, 71, 9]),
    (0b101011111, &[1, 1, 7, 15, 21, 11, 81, 45]),
    (0b101100011, &[1, 3, 7, 3, 25, 31, 65, 79]),
    (0b101100101, &[1, 3, 1, 1, 19, 11, 3, 205]),
    (0b101101001, &[1, 1, 5, 9, 19, 21, 29, 157]),
    (0b101110001, &[1, 3, 7, 11, 1, 33, 89, 185]),
    (0b110000111, &[1, 3, 3, 3, 15, 9, 79, 71]),
    (0b110001101, &[1, 3, 7, 11, 15, 39, 119, 27]),
    (0b110101001, &[1, 1, 3, 1, 11, 31, 97, 225]),
    (0b111000011, &[1, 1, 1, 3, 23, 43, 57, 177]),
    (0b111001111, &[1, 3, 7, 7, 17, 17, 37, 71]),
    (0b111100111, &[1, 3, 1, 5, 27, 63, 123, 213]),
    (0b111110101, &[1, 1, 3, 5, 11, 43, 53, 133]),
    (0b1000010001, &[1, 3, 5, 5, 29, 17, 47, 173, 479]),
    (0b1000011011, &[1, 3, 3, 11, 3, 1, 109, 9, 69]),
    (0b1000100001, &[1, 1, 1, 5, 17, 39, 23, 5, 343]),
    (0b1000101101, &[1, 3, 1, 5, 25, 15, 31, 103, 499]),
    (0b1000110011, &[1, 1, 1, 11, 11, 17, 63, 105, 183]),
    (0b1001011001, &[1, 1, 5, 11, 9, 29, 97, 231, 363]),
    (0b1001011111, &[1, 1, 5, 15, 19, 45, 41, 7, 383]),
    (0b1001101001, &[1, 3, 7, 7, 31, 19, 83, 137, 221]),
    (0b1001101111, &[1, 1, 1, 3, 23, 15, 111, 223, 83]),
    (0b1001110111, &[1, 1, 5, 13, 31, 15, 55, 25, 161]),
    (0b1001111101, &[1, 1, 3, 13, 25, 47, 39, 87, 257]),
];

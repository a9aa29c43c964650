//! Battery, copper line, converter, chiller and ground supply.

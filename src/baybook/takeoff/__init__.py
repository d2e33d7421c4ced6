"""From the framed deck to quantities, each rule citing its id."""

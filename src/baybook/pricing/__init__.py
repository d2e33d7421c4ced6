"""Price list to offers, packs, labour, overhead and tax; the one rounding function."""

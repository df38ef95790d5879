//! Deck panels: layout, sections, spans, accessories.

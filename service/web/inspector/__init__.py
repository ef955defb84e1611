"""The inspector's pages: history, proofs, zones as they stood, certificates, closeout, record."""

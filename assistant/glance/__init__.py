"""The glance display: one local page that only reads; nothing needs it."""

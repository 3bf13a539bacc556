"""What goes in and out in bulk: the demo, the schema for the phone, import and export."""

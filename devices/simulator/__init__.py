"""A kitchen's physics, speaking MQTT as real probes do."""

"""spoken-brief: a spoken caller for the minutes around an emergency intubation."""

import os

# Nothing leaves the machine: onnxruntime would report its use.
os.environ.setdefault("ORT_DISABLE_TELEMETRY", "1")

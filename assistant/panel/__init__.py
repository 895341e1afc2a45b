"""The box's own pedal, light and buzzer. A box without any of them is a whole box."""

"""spoken-brief: a spoken caller for the minutes around an emergency intubation."""

"""Documents about a vehicle: job records, complaints, trips, list rows, the code on a sheet."""

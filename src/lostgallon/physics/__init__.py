"""Where the fuel goes: air, tires, road load, engine, warm-up, trip. Arrays in, arrays out; no cause is known here."""

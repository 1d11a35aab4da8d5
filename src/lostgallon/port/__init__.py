"""Reading a vehicle's diagnostic port: read only, over CAN, with the optional extra `port`."""

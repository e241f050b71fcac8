package measure

// Cautions that several measurements share: said once, in one wording, so that
// a printed record lists each but once. Common practice, no source; all defer
// to local codes and to qualified persons.
const (
	// CautionLoad is for every hand at the audio output.
	CautionLoad = "Keep a load resistor of the right value and wattage across the audio output: an output stage with no load can arc over its transformer."
	// CautionTerminals is for whoever connects anything to the set's terminals.
	CautionTerminals = "In some sets the phones, the loudspeaker line or one side of the antenna winding stand at HT or line potential. Measure before you touch; take signals through capacitors rated for the HT or through a transformer. Local codes and qualified persons take precedence."
	// CautionSoundInput is for whoever connects a computer.
	CautionSoundInput = "Before a sound input is connected: turn the volume down, check the volts, and use a pad. A few volts destroy it."
	// CautionTransmitter is for the generator at the antenna terminals.
	CautionTransmitter = "Before a generator goes to the antenna socket: be sure that no transmitter can be keyed into it and that no mast amplifier is fed through it. Either burns the attenuator."
	// CautionThunder is for a real antenna.
	CautionThunder = "Keep away from the antenna and do not connect one while thunder is about."
	// CautionCounter is for a counter at an oscillator.
	CautionCounter = "The chassis carries lethal voltage while it is on and for a while after. Couple the counter loosely, through a capacitor rated for the HT or with a loop near the coil; never clip to the tank by feel."
	// CautionLiveChassis is for a generator or meter on the chassis itself.
	CautionLiveChassis = "A set that shares a side with the mains makes its chassis live: use an isolating transformer, and have it checked by a qualified person. Local codes take precedence."
)

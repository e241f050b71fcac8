package recording

func (r *Reader) openFLAC() error {
	return r.problem(r.in.pos, "a FLAC recording", "a WAV recording", "FLAC cannot be read yet. "+convert)
}

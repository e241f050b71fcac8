package agc

import "context"

func (w *work) dynamic(_ context.Context, _ func(float64)) error { return nil }
func (w *work) dynamicSentences() []string                       { return nil }

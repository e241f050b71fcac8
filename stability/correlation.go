package stability

// Noise is a model of the noise left in a record.
type Noise struct{}

type resDesign struct{}

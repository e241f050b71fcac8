// The live parts of the pages. Every page works without them.
export {};

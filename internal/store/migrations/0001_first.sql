-- Version 1. doc is the JSON of an entry; the columns beside it are those that
-- are searched, ordered or referred to. place is the order of entering.

CREATE TABLE sets (
	id TEXT NOT NULL PRIMARY KEY,
	place INTEGER NOT NULL,
	doc TEXT NOT NULL
);

CREATE TABLE configurations (
	id TEXT NOT NULL PRIMARY KEY,
	place INTEGER NOT NULL,
	set_id TEXT NOT NULL REFERENCES sets (id),
	doc TEXT NOT NULL
);
CREATE INDEX configurations_set ON configurations (set_id);

CREATE TABLE states (
	id TEXT NOT NULL PRIMARY KEY,
	place INTEGER NOT NULL,
	set_id TEXT NOT NULL REFERENCES sets (id),
	configuration_id TEXT NOT NULL REFERENCES configurations (id),
	since TEXT NOT NULL,
	doc TEXT NOT NULL
);
CREATE INDEX states_set ON states (set_id);
CREATE INDEX states_configuration ON states (configuration_id);

CREATE TABLE modifications (
	id TEXT NOT NULL PRIMARY KEY,
	place INTEGER NOT NULL,
	set_id TEXT NOT NULL REFERENCES sets (id),
	doc TEXT NOT NULL
);
CREATE INDEX modifications_set ON modifications (set_id);

-- The claims stand in the doc of their modification; here they are found.
CREATE TABLE claims (
	id TEXT NOT NULL PRIMARY KEY,
	modification_id TEXT NOT NULL REFERENCES modifications (id)
);
CREATE INDEX claims_modification ON claims (modification_id);

CREATE TABLE runs (
	id TEXT NOT NULL PRIMARY KEY,
	place INTEGER NOT NULL,
	state_id TEXT NOT NULL REFERENCES states (id),
	measurement TEXT NOT NULL,
	started TEXT NOT NULL,
	entered TEXT NOT NULL,
	hidden TEXT NOT NULL DEFAULT '', -- the reason, or nothing
	doc TEXT NOT NULL
);
CREATE INDEX runs_state ON runs (state_id);

-- The series of a run. open is 1 while readings are being taken, else 0. digest
-- is of the readings so far; the states are those of its two hashes, to go on
-- from.
CREATE TABLE series (
	run_id TEXT NOT NULL PRIMARY KEY REFERENCES runs (id),
	open INTEGER NOT NULL,
	columns TEXT NOT NULL,
	readings INTEGER NOT NULL,
	chunks INTEGER NOT NULL,
	digest TEXT NOT NULL,
	value_state BLOB NOT NULL,
	text_state BLOB NOT NULL
);

CREATE TABLE chunks (
	run_id TEXT NOT NULL REFERENCES series (run_id),
	seq INTEGER NOT NULL,
	first_row INTEGER NOT NULL,
	readings INTEGER NOT NULL,
	data BLOB NOT NULL,
	PRIMARY KEY (run_id, seq)
);

CREATE TABLE amendments (
	id TEXT NOT NULL PRIMARY KEY,
	place INTEGER NOT NULL,
	run_id TEXT NOT NULL REFERENCES runs (id),
	doc TEXT NOT NULL
);
CREATE INDEX amendments_run ON amendments (run_id);

-- Files under recordings/, and which run they belong to.
CREATE TABLE files (
	sha256 TEXT NOT NULL PRIMARY KEY,
	size INTEGER NOT NULL,
	added TEXT NOT NULL
);
CREATE TABLE run_files (
	run_id TEXT NOT NULL REFERENCES runs (id),
	sha256 TEXT NOT NULL REFERENCES files (sha256),
	name TEXT NOT NULL,
	PRIMARY KEY (run_id, sha256)
);
CREATE INDEX run_files_file ON run_files (sha256);

-- A cache: may be emptied at any time.
CREATE TABLE figures (
	cache_key TEXT NOT NULL PRIMARY KEY,
	run_id TEXT NOT NULL REFERENCES runs (id),
	method TEXT NOT NULL,
	made TEXT NOT NULL,
	doc BLOB NOT NULL
);
CREATE INDEX figures_run ON figures (run_id, method);

CREATE TABLE instruments (
	id TEXT NOT NULL,
	epoch TEXT NOT NULL,
	reads TEXT NOT NULL,
	cell TEXT NOT NULL,
	place INTEGER NOT NULL,
	doc TEXT NOT NULL,
	PRIMARY KEY (id, epoch, reads, cell)
);

-- Small things by kind and name: amounts that matter, plans, settings.
CREATE TABLE notes (
	kind TEXT NOT NULL,
	name TEXT NOT NULL,
	doc TEXT NOT NULL,
	PRIMARY KEY (kind, name)
);

-- What was changed or deleted, with the entry as it was before.
CREATE TABLE changes (
	id INTEGER NOT NULL PRIMARY KEY,
	made TEXT NOT NULL,
	word TEXT NOT NULL,
	entry_id TEXT NOT NULL,
	action TEXT NOT NULL,
	reason TEXT NOT NULL,
	before_doc TEXT NOT NULL
);
CREATE INDEX changes_entry ON changes (word, entry_id);

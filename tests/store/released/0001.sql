BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE entry (
	visit_id VARCHAR(32) NOT NULL, 
	number INTEGER NOT NULL, 
	"key" VARCHAR(200) NOT NULL, 
	value TEXT, 
	salt VARCHAR(32), 
	value_sha256 VARCHAR(64) NOT NULL, 
	who TEXT NOT NULL, 
	at VARCHAR(40) NOT NULL, 
	kept_at VARCHAR(40) NOT NULL, 
	idempotency_key VARCHAR(200) NOT NULL, 
	replaces INTEGER, 
	undo BOOLEAN DEFAULT 0 NOT NULL, 
	sha256 VARCHAR(64) NOT NULL, 
	PRIMARY KEY (visit_id, number), 
	UNIQUE (visit_id, idempotency_key), 
	FOREIGN KEY(visit_id, replaces) REFERENCES entry (visit_id, number), 
	FOREIGN KEY(visit_id) REFERENCES visit (id)
);
INSERT INTO "entry" VALUES('c4bb86c3d1c42710',1,'vehicle.curb_weight','"3650 lb"','3c344c4189eb2f1e7bd5d47e446fcec2','f2c9206f75f0e1c861570006bb4d3bc33cd3596a1caffdc2be5fe1cf36883b4d','Pat','2026-01-15T12:00:03.000000+00:00','2026-01-15T12:00:03.000000+00:00','a',NULL,0,'46b97e0c24e9ce346d43b61e6b2a3c9877292e4e9318a37b6e4a4c195efbfbd5');
INSERT INTO "entry" VALUES('c4bb86c3d1c42710',2,'then.economy','"23 mpg"','a3d811736110e5781bcccea696762e61','17ce794f71b611fc635f3c3857d950c2e5ee4f4db80314292ad7757c0d898bfb','Pat','2026-01-15T12:00:04.000000+00:00','2026-01-15T12:00:04.000000+00:00','b',NULL,0,'e5b463dada6853beeb9b76d28a35866c7657a6e0eab003cfda6b097ea6960ec2');
INSERT INTO "entry" VALUES('c4bb86c3d1c42710',3,'then.economy','"24 mpg"','16c6e9c92d99bf358c2e0718822ce47c','af989c79769a85414dc73be70765830770cad5b7fbf7d930e55870ac389e81ae','Pat','2026-01-15T12:00:05.000000+00:00','2026-01-15T12:00:05.000000+00:00','c',2,0,'602196ff9332a555e4c6a1a6433efd83a682a787ad50a4eb0e4ecfd063dfa26f');
INSERT INTO "entry" VALUES('c4bb86c3d1c42710',4,'then.economy','"23 mpg"','a8c74107e66cb0e4b2b3f4d58d82ca63','1a158096b3ad0f75a98017bf9cd0a73358454424c9e165608090d9c1dc45300c','Sam','2026-01-15T12:00:06.000000+00:00','2026-01-15T12:00:06.000000+00:00','undo c4bb86c3d1c42710.3',3,1,'878e6aef4c44623bda00085cf50f875055f77220222f51c35e570335275e245d');
INSERT INTO "entry" VALUES('c4bb86c3d1c42710',5,'finding.1','{"check":"tire_pressure","value":["27 psi","26 psi"]}','86d2c96e760e819b85c924c3597164c4','fa01523d12d7669eb21dbed6f2df188e5a8bb8dc87d56cd28dbf22514918f34c','Pat','2026-01-15T12:00:07.000000+00:00','2026-01-15T12:00:07.000000+00:00','d',NULL,0,'03df500bc4fbd5f45500579b4192bebd1b111910541a6ba72c29fe699c9f58d8');
INSERT INTO "entry" VALUES('c4bb86c3d1c42710',6,'photo.1','{"sha256":"55c64d0fcd6f9d5f7c828093857e3fdfda68478bb4e9bd24d481ef391c7804e8","of":"finding.1"}','a6058a00581a22b22de50472433d2e44','cf41c777d8cd8e74b3ffd8cb2fe1be4b064908902494f80b082e6627ac3e8822','Pat','2026-01-15T12:00:09.000000+00:00','2026-01-15T12:00:09.000000+00:00','e',NULL,0,'976dca88b481c4bd41f59f168ae26248b088fc864eef1cbee31e3644558fab56');
INSERT INTO "entry" VALUES('c4bb86c3d1c42710',7,'words.concern','"uses more, señor"','fed8b6b8357e44cd3129903ac1d45597','eecce5610fd3454487d5c0630ab989fc7ff14af5b87991f2444beceb4f12f1b1','Pat','2026-01-15T12:00:12.000000+00:00','2026-01-15T12:00:12.000000+00:00','f',NULL,0,'d86317d0bbaca0287541aae58b561f54c730cea69ba9c6b95309db64034cab94');
CREATE TABLE file (
	sha256 VARCHAR(64) NOT NULL, 
	suffix VARCHAR(8) NOT NULL, 
	size_bytes BIGINT NOT NULL, 
	kept_at VARCHAR(40) NOT NULL, 
	erased_at VARCHAR(40), 
	PRIMARY KEY (sha256)
);
INSERT INTO "file" VALUES('55c64d0fcd6f9d5f7c828093857e3fdfda68478bb4e9bd24d481ef391c7804e8','.jpg',5,'2026-01-15T12:00:08.000000+00:00',NULL);
INSERT INTO "file" VALUES('b8c33ecd083406576e0fcbd08fbd0d6dea9cf9fcad0dd7e12bc149881d249c96','.pdf',11,'2026-01-15T12:00:10.000000+00:00',NULL);
CREATE TABLE owner (
	id VARCHAR(32) NOT NULL, 
	name TEXT NOT NULL, 
	phone TEXT NOT NULL, 
	email TEXT NOT NULL, 
	language VARCHAR(8) NOT NULL, 
	erased_at VARCHAR(40), 
	PRIMARY KEY (id)
);
INSERT INTO "owner" VALUES('df6af1d8303e61cd','Invented Owner','555 0100','','',NULL);
CREATE TABLE seal (
	visit_id VARCHAR(32) NOT NULL, 
	version INTEGER NOT NULL, 
	account_json TEXT NOT NULL, 
	account_sha256 VARCHAR(64) NOT NULL, 
	letter_sha256 VARCHAR(64) NOT NULL, 
	entries INTEGER NOT NULL, 
	history_sha256 VARCHAR(64) NOT NULL, 
	sealed_at VARCHAR(40) NOT NULL, 
	sealed_by TEXT NOT NULL, 
	sha256 VARCHAR(64) NOT NULL, 
	PRIMARY KEY (visit_id, version), 
	FOREIGN KEY(visit_id) REFERENCES visit (id), 
	FOREIGN KEY(letter_sha256) REFERENCES file (sha256)
);
INSERT INTO "seal" VALUES('c4bb86c3d1c42710',1,'{"loss": 1}','dfd53d59ed70304fbf60e6d2f3d8a47a18586a0414a1892decd281382dc4c77a','b8c33ecd083406576e0fcbd08fbd0d6dea9cf9fcad0dd7e12bc149881d249c96',6,'976dca88b481c4bd41f59f168ae26248b088fc864eef1cbee31e3644558fab56','2026-01-15T12:00:11.000000+00:00','Pat','e771cfe37e039fe486228aa9c37c4839097249dcf68b4099fdeec167e1332186');
CREATE TABLE setting (
	number INTEGER NOT NULL, 
	"key" VARCHAR(200) NOT NULL, 
	value TEXT, 
	who TEXT NOT NULL, 
	at VARCHAR(40) NOT NULL, 
	PRIMARY KEY (number)
);
INSERT INTO "setting" VALUES(1,'shop.labor_rate','"150 USD/h"','Pat','2026-01-15T12:00:14.000000+00:00');
CREATE TABLE vehicle (
	id VARCHAR(32) NOT NULL, 
	owner_id VARCHAR(32), 
	description TEXT NOT NULL, 
	vin TEXT NOT NULL, 
	plate TEXT NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(owner_id) REFERENCES owner (id)
);
INSERT INTO "vehicle" VALUES('f5b165224a58b791','df6af1d8303e61cd','2011 wagon, 2.3 L','','BAY 101');
INSERT INTO "vehicle" VALUES('a242fdf11f8f2b1a',NULL,'van, 3.0 L','','');
CREATE TABLE visit (
	id VARCHAR(32) NOT NULL, 
	vehicle_id VARCHAR(32) NOT NULL, 
	opened_at VARCHAR(40) NOT NULL, 
	opened_by TEXT NOT NULL, 
	idempotency_key VARCHAR(200) NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(vehicle_id) REFERENCES vehicle (id), 
	UNIQUE (idempotency_key)
);
INSERT INTO "visit" VALUES('c4bb86c3d1c42710','f5b165224a58b791','2026-01-15T12:00:02.000000+00:00','Pat','visit 1');
INSERT INTO "visit" VALUES('dcbed407e3e6b605','a242fdf11f8f2b1a','2026-01-15T12:00:13.000000+00:00','Pat','visit 2');
CREATE INDEX ix_vehicle_owner_id ON vehicle (owner_id);
CREATE INDEX ix_visit_vehicle_id ON visit (vehicle_id);
CREATE INDEX ix_visit_opened_at ON visit (opened_at);
CREATE INDEX entry_standing ON entry (visit_id, "key", number);
CREATE INDEX ix_setting_key ON setting ("key");
COMMIT;

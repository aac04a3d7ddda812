BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0002');
CREATE TABLE answers_given (
	actor TEXT NOT NULL, 
	idempotency_key VARCHAR(128) NOT NULL, 
	request_digest VARCHAR(64) NOT NULL, 
	status INTEGER NOT NULL, 
	body TEXT NOT NULL, 
	at VARCHAR(27) NOT NULL, 
	CONSTRAINT pk_answers_given PRIMARY KEY (actor, idempotency_key)
);
INSERT INTO "answers_given" VALUES('k1','one-write','bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb',201,'{"new": 3}','2026-07-13T23:05:07.250000Z');
CREATE TABLE applied (
	report VARCHAR(36) NOT NULL, 
	site VARCHAR(64) NOT NULL, 
	terminal INTEGER NOT NULL, 
	opens_on VARCHAR(10) NOT NULL, 
	began VARCHAR(27), 
	minutes FLOAT NOT NULL, 
	how VARCHAR(16) NOT NULL, 
	at VARCHAR(27) NOT NULL, 
	actor TEXT NOT NULL, 
	CONSTRAINT pk_applied PRIMARY KEY (report), 
	CONSTRAINT ck_applied_minutes CHECK (minutes >= 0), 
	CONSTRAINT fk_applied_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "applied" VALUES('r-1','quillmere-green',1,'2026-07-13','2026-07-13T23:05:07.250000Z',7.5,'program','2026-07-13T23:05:07.250000Z','k1');
INSERT INTO "applied" VALUES('r-2','quillmere-green',2,'2026-07-13',NULL,0.0,'cut short','2026-07-13T23:05:07.250000Z','k1');
INSERT INTO "applied" VALUES('r-3','quillmere-green',2,'2026-07-13',NULL,3.0,'hand','2026-07-13T23:05:07.250000Z','k1');
CREATE TABLE balances (
	site VARCHAR(64) NOT NULL, 
	morning VARCHAR(10) NOT NULL, 
	supposing VARCHAR(16) NOT NULL, 
	document TEXT NOT NULL, 
	at VARCHAR(27) NOT NULL, 
	CONSTRAINT pk_balances PRIMARY KEY (site, morning, supposing), 
	CONSTRAINT fk_balances_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "balances" VALUES('quillmere-green','2026-07-14','reported','{"deficit_mm": {"1": [1.5, 0.25, 0.0], "12": [0.1, 0.2, 0.3]}, "thickness_mm": {"1": [150.0, 75.0, 75.0], "12": [3.0, 4.0, 5.0]}}','2026-07-13T23:05:07.250000Z');
INSERT INTO "balances" VALUES('quillmere-green','2026-07-14','planned','{"deficit_mm": {"1": [1.5, 0.25, 0.0], "12": [0.1, 0.2, 0.3]}, "thickness_mm": {"1": [150.0, 75.0, 75.0], "12": [3.0, 4.0, 5.0]}}','2026-07-13T23:05:07.250000Z');
CREATE TABLE calendar_addresses (
	token_hash VARCHAR(64) NOT NULL, 
	site VARCHAR(64) NOT NULL, 
	made VARCHAR(27) NOT NULL, 
	revoked VARCHAR(27), 
	CONSTRAINT pk_calendar_addresses PRIMARY KEY (token_hash), 
	CONSTRAINT fk_calendar_addresses_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "calendar_addresses" VALUES('ffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff','quillmere-green','2026-07-13T23:05:07.250000Z',NULL);
CREATE TABLE job_runs (
	site VARCHAR(64) NOT NULL, 
	job VARCHAR(32) NOT NULL, 
	period VARCHAR(10) NOT NULL, 
	state VARCHAR(16) NOT NULL, 
	fence INTEGER NOT NULL, 
	worker TEXT NOT NULL, 
	leased_until VARCHAR(27) NOT NULL, 
	tries INTEGER NOT NULL, 
	began VARCHAR(27) NOT NULL, 
	ended VARCHAR(27), 
	note TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_job_runs PRIMARY KEY (site, job, period), 
	CONSTRAINT fk_job_runs_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "job_runs" VALUES('quillmere-green','plan tonight','2026-07-13','done',1,'worker 1','2026-07-13T23:05:07.250000Z',1,'2026-07-13T23:05:07.250000Z','2026-07-13T23:05:07.250000Z','');
INSERT INTO "job_runs" VALUES('quillmere-green','close day','2026-07-13','failed',1,'worker 1','2026-07-13T23:07:07.250000Z',1,'2026-07-13T23:05:07.250000Z','2026-07-13T23:05:07.250000Z','the feed is down');
CREATE TABLE key_sites (
	key_id VARCHAR(16) NOT NULL, 
	site VARCHAR(64) NOT NULL, 
	CONSTRAINT pk_key_sites PRIMARY KEY (key_id, site), 
	CONSTRAINT fk_key_sites_key_id FOREIGN KEY(key_id) REFERENCES keys (key_id), 
	CONSTRAINT fk_key_sites_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "key_sites" VALUES('k1','quillmere-green');
CREATE TABLE keys (
	key_id VARCHAR(16) NOT NULL, 
	secret_hash VARCHAR(64) NOT NULL, 
	name TEXT NOT NULL, 
	scopes TEXT NOT NULL, 
	all_sites BOOLEAN NOT NULL, 
	made VARCHAR(27) NOT NULL, 
	expires VARCHAR(27), 
	revoked VARCHAR(27), 
	CONSTRAINT pk_keys PRIMARY KEY (key_id)
);
INSERT INTO "keys" VALUES('k1','cccccccccccccccccccccccccccccccccccccccccccccccccccccccccccccccc','the controller','READ REPORT',0,'2026-07-13T23:05:07.250000Z','2026-07-14T23:05:07.250000Z',NULL);
INSERT INTO "keys" VALUES('k2','dddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddd','the office','READ REPORT VISIT MANAGE',1,'2026-07-13T23:05:07.250000Z',NULL,NULL);
CREATE TABLE night_reports (
	site VARCHAR(64) NOT NULL, 
	opens_on VARCHAR(10) NOT NULL, 
	at VARCHAR(27) NOT NULL, 
	actor TEXT NOT NULL, 
	CONSTRAINT pk_night_reports PRIMARY KEY (site, opens_on), 
	CONSTRAINT fk_night_reports_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "night_reports" VALUES('quillmere-green','2026-07-13','2026-07-13T23:05:07.250000Z','k1');
CREATE TABLE outbox (
	event VARCHAR(36) NOT NULL, 
	webhook VARCHAR(36) NOT NULL, 
	kind VARCHAR(32) NOT NULL, 
	body TEXT NOT NULL, 
	made VARCHAR(27) NOT NULL, 
	tries INTEGER NOT NULL, 
	next_try VARCHAR(27), 
	delivered VARCHAR(27), 
	last_answer TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_outbox PRIMARY KEY (event), 
	CONSTRAINT fk_outbox_webhook FOREIGN KEY(webhook) REFERENCES webhooks (webhook)
);
INSERT INTO "outbox" VALUES('e-1','w-1','plan made','{"type": "plan made"}','2026-07-13T23:05:07.250000Z',1,'2026-07-14T23:05:07.250000Z',NULL,'answered 503');
CREATE TABLE plans (
	site VARCHAR(64) NOT NULL, 
	revision INTEGER NOT NULL, 
	first_day VARCHAR(10) NOT NULL, 
	at VARCHAR(27) NOT NULL, 
	valid_until VARCHAR(27) NOT NULL, 
	document TEXT NOT NULL, 
	digest VARCHAR(64) NOT NULL, 
	CONSTRAINT pk_plans PRIMARY KEY (site, revision), 
	CONSTRAINT fk_plans_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "plans" VALUES('quillmere-green',1,'2026-07-14','2026-07-13T23:05:07.250000Z','2026-07-14T23:05:07.250000Z','{"schema":"etsched.week/1","name":"Ünïcode ✓"}','aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa');
CREATE TABLE sessions (
	token_hash VARCHAR(64) NOT NULL, 
	user_name VARCHAR(64) NOT NULL, 
	made VARCHAR(27) NOT NULL, 
	expires VARCHAR(27) NOT NULL, 
	CONSTRAINT pk_sessions PRIMARY KEY (token_hash), 
	CONSTRAINT fk_sessions_user_name FOREIGN KEY(user_name) REFERENCES users (user_name)
);
INSERT INTO "sessions" VALUES('eeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeee','ann','2026-07-13T23:05:07.250000Z','2026-07-14T23:05:07.250000Z');
CREATE TABLE site_revisions (
	site VARCHAR(64) NOT NULL, 
	revision INTEGER NOT NULL, 
	document TEXT NOT NULL, 
	at VARCHAR(27) NOT NULL, 
	actor TEXT NOT NULL, 
	CONSTRAINT pk_site_revisions PRIMARY KEY (site, revision), 
	CONSTRAINT fk_site_revisions_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "site_revisions" VALUES('quillmere-green',1,'name = "Quillmere Green"
# « the first file »
','2026-07-13T23:05:07.250000Z','ann');
INSERT INTO "site_revisions" VALUES('quillmere-green',2,'name = "Quillmere Green"
units = "us"
','2026-07-13T23:05:07.250000Z','ann');
INSERT INTO "site_revisions" VALUES('fernhollow',1,'-- none --','2026-07-13T23:05:07.250000Z','ann');
CREATE TABLE sites (
	site VARCHAR(64) NOT NULL, 
	name TEXT NOT NULL, 
	zone TEXT NOT NULL, 
	revision INTEGER NOT NULL, 
	put_away VARCHAR(27), 
	CONSTRAINT pk_sites PRIMARY KEY (site)
);
INSERT INTO "sites" VALUES('quillmere-green','Quillmere Green','America/Denver',2,NULL);
INSERT INTO "sites" VALUES('fernhollow','Fernhollow; it''s "away"','Australia/Lord_Howe',1,'2026-07-14T23:05:07.250000Z');
CREATE TABLE tables_keyed_in (
	site VARCHAR(64) NOT NULL, 
	since VARCHAR(10) NOT NULL, 
	plan_revision INTEGER NOT NULL, 
	at VARCHAR(27) NOT NULL, 
	actor TEXT NOT NULL, programs TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_tables_keyed_in PRIMARY KEY (site, since), 
	CONSTRAINT fk_tables_keyed_in_site_plan_revision FOREIGN KEY(site, plan_revision) REFERENCES plans (site, revision), 
	CONSTRAINT fk_tables_keyed_in_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "tables_keyed_in" VALUES('quillmere-green','2026-07-13',1,'2026-07-13T23:05:07.250000Z','ann','');
CREATE TABLE trail (
	entry INTEGER NOT NULL, 
	at VARCHAR(27) NOT NULL, 
	actor TEXT NOT NULL, 
	did VARCHAR(32) NOT NULL, 
	site VARCHAR(64), 
	detail TEXT NOT NULL, 
	CONSTRAINT pk_trail PRIMARY KEY (entry)
);
INSERT INTO "trail" VALUES(1,'2026-07-13T23:05:07.250000Z','ann','site put','quillmere-green','revision 1');
INSERT INTO "trail" VALUES(2,'2026-07-14T23:05:07.250000Z','cron','pruned',NULL,'');
CREATE TABLE user_sites (
	user_name VARCHAR(64) NOT NULL, 
	site VARCHAR(64) NOT NULL, 
	CONSTRAINT pk_user_sites PRIMARY KEY (user_name, site), 
	CONSTRAINT fk_user_sites_site FOREIGN KEY(site) REFERENCES sites (site), 
	CONSTRAINT fk_user_sites_user_name FOREIGN KEY(user_name) REFERENCES users (user_name)
);
INSERT INTO "user_sites" VALUES('ann','quillmere-green');
CREATE TABLE users (
	user_name VARCHAR(64) NOT NULL, 
	password_hash TEXT NOT NULL, 
	role VARCHAR(16) NOT NULL, 
	all_sites BOOLEAN NOT NULL, 
	made VARCHAR(27) NOT NULL, 
	shut VARCHAR(27), 
	CONSTRAINT pk_users PRIMARY KEY (user_name)
);
INSERT INTO "users" VALUES('ann','scrypt$1$2$3','technician',0,'2026-07-13T23:05:07.250000Z',NULL);
INSERT INTO "users" VALUES('bo','scrypt$4$5$6','admin',1,'2026-07-13T23:05:07.250000Z','2026-07-14T23:05:07.250000Z');
CREATE TABLE visits (
	visit VARCHAR(36) NOT NULL, 
	site VARCHAR(64) NOT NULL, 
	day VARCHAR(10) NOT NULL, 
	document TEXT NOT NULL, 
	findings TEXT NOT NULL, 
	at VARCHAR(27) NOT NULL, 
	actor TEXT NOT NULL, 
	CONSTRAINT pk_visits PRIMARY KEY (visit), 
	CONSTRAINT fk_visits_site FOREIGN KEY(site) REFERENCES sites (site), 
	CONSTRAINT uq_visits_site_day UNIQUE (site, day)
);
INSERT INTO "visits" VALUES('v-1','quillmere-green','2026-07-13','date = 2026-07-13
','{"findings": []}','2026-07-13T23:05:07.250000Z','ann');
CREATE TABLE weathers (
	site VARCHAR(64) NOT NULL, 
	fetched VARCHAR(27) NOT NULL, 
	document TEXT NOT NULL, 
	digest VARCHAR(64) NOT NULL, 
	CONSTRAINT pk_weathers PRIMARY KEY (site, fetched), 
	CONSTRAINT fk_weathers_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "weathers" VALUES('quillmere-green','2026-07-13T23:05:07.250000Z','{"daily": []}','235c2df67457e89e1f6ac4500276d5a382a75922ef916929af6d2ad990d79779');
CREATE TABLE webhooks (
	webhook VARCHAR(36) NOT NULL, 
	site VARCHAR(64) NOT NULL, 
	url TEXT NOT NULL, 
	secret TEXT NOT NULL, 
	made VARCHAR(27) NOT NULL, 
	ended VARCHAR(27), 
	CONSTRAINT pk_webhooks PRIMARY KEY (webhook), 
	CONSTRAINT fk_webhooks_site FOREIGN KEY(site) REFERENCES sites (site)
);
INSERT INTO "webhooks" VALUES('w-1','quillmere-green','https://receiver.example.org/hook?a=b','whsec_c2VjcmV0','2026-07-13T23:05:07.250000Z',NULL);
CREATE INDEX ix_applied_site_opens_on ON applied (site, opens_on);
CREATE INDEX ix_job_runs_state_leased_until ON job_runs (state, leased_until);
CREATE INDEX ix_outbox_next_try ON outbox (next_try);
CREATE INDEX ix_trail_site_entry ON trail (site, entry);
CREATE TRIGGER trail_update BEFORE UPDATE ON trail BEGIN SELECT RAISE(ABORT, 'what was written into the trail stays as it is'); END;
CREATE TRIGGER trail_delete BEFORE DELETE ON trail BEGIN SELECT RAISE(ABORT, 'what was written into the trail stays as it is'); END;
COMMIT;

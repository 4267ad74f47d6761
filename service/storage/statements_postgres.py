"""Which SQL does the serving path run on PostgreSQL?

Written by service.storage.generate from the tables; change those, not this file.
"""

AUDIT_DOWN = """\
SELECT audit.org, audit.chain, audit.seq, audit.at, audit.body, audit.digest FROM audit WHERE
audit.org = %(org)s AND audit.at >= %(low)s AND audit.at <= %(high)s AND (audit.at, audit.chain,
audit.seq) < (%(after_at)s, %(after_chain)s, %(after_seq)s) ORDER BY audit.at DESC, audit.chain
DESC, audit.seq DESC LIMIT %(limit)s"""

AUDIT_ENTRY = """\
SELECT audit.org, audit.chain, audit.seq, audit.at, audit.body, audit.digest FROM audit WHERE
audit.org = %(org)s AND audit.chain = %(chain)s AND audit.seq = %(seq)s"""

AUDIT_SEAL = """\
SELECT audit_seal.org, audit_seal.n, audit_seal.at, audit_seal.body, audit_seal.digest FROM
audit_seal WHERE audit_seal.org = %(org)s AND audit_seal.n = %(n)s"""

AUDIT_SEALS = """\
SELECT audit_seal.org, audit_seal.n, audit_seal.at, audit_seal.body, audit_seal.digest FROM
audit_seal ORDER BY audit_seal.org, audit_seal.n"""

AUDIT_TRAIL = """\
SELECT audit.org, audit.chain, audit.seq, audit.at, audit.body, audit.digest FROM audit ORDER BY
audit.org, audit.chain, audit.seq"""

AUDIT_UP = """\
SELECT audit.org, audit.chain, audit.seq, audit.at, audit.body, audit.digest FROM audit WHERE
audit.org = %(org)s AND audit.at >= %(low)s AND audit.at <= %(high)s AND (audit.at, audit.chain,
audit.seq) > (%(after_at)s, %(after_chain)s, %(after_seq)s) ORDER BY audit.at ASC, audit.chain
ASC, audit.seq ASC LIMIT %(limit)s"""

CHAIN_HEAD = """\
SELECT audit.org, audit.chain, audit.seq, audit.at, audit.body, audit.digest FROM audit WHERE
audit.org = %(org)s AND audit.chain = %(chain)s ORDER BY audit.seq DESC LIMIT 1"""

CLAIM = """\
SELECT idempotency.org, idempotency.credential, idempotency.operation, idempotency.key,
idempotency.digest, idempotency.screen, idempotency.at FROM idempotency WHERE idempotency.org =
%(org)s AND idempotency.credential = %(credential)s AND idempotency.operation = %(operation)s
AND idempotency.key = %(key)s"""

CLAIM_KEY = """\
INSERT INTO idempotency (org, credential, operation, key, digest, screen, at) VALUES (%s, %s,
%s, %s, %s, %s, %s) ON CONFLICT (org, credential, operation, key) DO UPDATE SET digest =
excluded.digest, screen = excluded.screen, at = excluded.at"""

CREDENTIAL = """\
SELECT credential.id, credential.org, credential.name, credential.prefix, credential.hash,
credential.created, credential.expires, credential.revoked, credential.scopes,
credential.last_used FROM credential WHERE credential.prefix = %(prefix)s"""

CREDENTIAL_BY_ID = """\
SELECT credential.id, credential.org, credential.name, credential.prefix, credential.hash,
credential.created, credential.expires, credential.revoked, credential.scopes,
credential.last_used FROM credential WHERE credential.id = %(id)s"""

CREDENTIALS = """\
SELECT credential.id, credential.org, credential.name, credential.prefix, credential.hash,
credential.created, credential.expires, credential.revoked, credential.scopes,
credential.last_used FROM credential ORDER BY credential.org, credential.id"""

END_CREDENTIAL = """\
UPDATE credential SET expires=%(at)s WHERE credential.id = %(of_id)s"""

ENSURE_PATIENT_ID = """\
INSERT INTO patient_id (org, system, value, patient) VALUES (%s, %s, %s, %s) ON CONFLICT DO
NOTHING"""

ERASE_IDEMPOTENCY = """\
DELETE FROM idempotency WHERE idempotency.org = %(of_org)s AND idempotency.screen IN (SELECT
screen.id FROM screen WHERE screen.org = %(of_org)s AND screen.patient IN (SELECT %(of_patient)s
AS anon_1 UNION ALL SELECT member.id FROM patient AS member WHERE member.org = %(of_org)s AND
member.merged_into = %(of_patient)s))"""

ERASE_MERGED = """\
DELETE FROM patient WHERE patient.org = %(of_org)s AND patient.merged_into = %(of_patient)s"""

ERASE_OUTBOX = """\
DELETE FROM outbox WHERE outbox.org = %(of_org)s AND outbox.patient IN (SELECT %(of_patient)s AS
anon_1 UNION ALL SELECT member.id FROM patient AS member WHERE member.org = %(of_org)s AND
member.merged_into = %(of_patient)s)"""

ERASE_PATIENT = """\
DELETE FROM patient WHERE patient.org = %(of_org)s AND patient.id = %(of_patient)s"""

ERASE_PATIENT_ID = """\
DELETE FROM patient_id WHERE patient_id.org = %(of_org)s AND patient_id.patient IN (SELECT
%(of_patient)s AS anon_1 UNION ALL SELECT member.id FROM patient AS member WHERE member.org =
%(of_org)s AND member.merged_into = %(of_patient)s)"""

ERASE_PLAN = """\
DELETE FROM plan WHERE plan.org = %(of_org)s AND plan.patient IN (SELECT %(of_patient)s AS
anon_1 UNION ALL SELECT member.id FROM patient AS member WHERE member.org = %(of_org)s AND
member.merged_into = %(of_patient)s)"""

ERASE_PLAN_EVENT = """\
DELETE FROM plan_event WHERE plan_event.org = %(of_org)s AND plan_event.patient IN (SELECT
%(of_patient)s AS anon_1 UNION ALL SELECT member.id FROM patient AS member WHERE member.org =
%(of_org)s AND member.merged_into = %(of_patient)s)"""

ERASE_SCREEN = """\
DELETE FROM screen WHERE screen.org = %(of_org)s AND screen.patient IN (SELECT %(of_patient)s AS
anon_1 UNION ALL SELECT member.id FROM patient AS member WHERE member.org = %(of_org)s AND
member.merged_into = %(of_patient)s)"""

EVENTS = """\
SELECT plan_event.plan, plan_event.version, plan_event.org, plan_event.patient, plan_event.rev,
plan_event.at, plan_event.kind, plan_event.actor, plan_event.body FROM plan_event WHERE
plan_event.org = %(org)s AND plan_event.plan = %(plan)s ORDER BY plan_event.version"""

EVENTS_OF_PATIENT = """\
SELECT plan_event.plan, plan_event.version, plan_event.org, plan_event.patient, plan_event.rev,
plan_event.at, plan_event.kind, plan_event.actor, plan_event.body, plan.screen FROM plan_event
JOIN plan ON plan.id = plan_event.plan WHERE plan.org = %(org)s AND plan.patient IN (SELECT
%(patient)s AS anon_1 UNION ALL SELECT member.id FROM patient AS member WHERE member.org =
%(org)s AND member.merged_into = %(patient)s) AND plan_event.patient = %(member)s ORDER BY
plan_event.rev DESC LIMIT %(limit)s"""

FIND_PLAN_CHANGED_ALL_DOWN = """\
SELECT plan_event.plan AS id, plan_event.version AS version, plan_event.at AS at FROM plan_event
WHERE plan_event.org = %(org)s AND NOT (EXISTS (SELECT later.plan FROM plan_event AS later WHERE
later.plan = plan_event.plan AND later.version = plan_event.version + 1)) AND plan_event.at >=
%(low)s AND plan_event.at <= %(high)s AND (plan_event.at, plan_event.plan, plan_event.version) <
(%(after_at)s, %(after_id)s, %(after_version)s) ORDER BY plan_event.at DESC, plan_event.plan
DESC, plan_event.version DESC LIMIT %(limit)s"""

FIND_PLAN_CHANGED_ALL_UP = """\
SELECT plan_event.plan AS id, plan_event.version AS version, plan_event.at AS at FROM plan_event
WHERE plan_event.org = %(org)s AND NOT (EXISTS (SELECT later.plan FROM plan_event AS later WHERE
later.plan = plan_event.plan AND later.version = plan_event.version + 1)) AND plan_event.at >=
%(low)s AND plan_event.at <= %(high)s AND (plan_event.at, plan_event.plan, plan_event.version) >
(%(after_at)s, %(after_id)s, %(after_version)s) ORDER BY plan_event.at ASC, plan_event.plan ASC,
plan_event.version ASC LIMIT %(limit)s"""

FIND_PLAN_CHANGED_PATIENT_DOWN = """\
SELECT plan_event.plan AS id, plan_event.version AS version, plan_event.at AS at FROM plan_event
WHERE plan_event.org = %(org)s AND plan_event.plan IN (SELECT plan.id FROM plan WHERE plan.org =
%(org)s AND plan.patient IN (SELECT %(patient)s AS anon_1 UNION ALL SELECT patient.id FROM
patient WHERE patient.org = %(org)s AND patient.merged_into = %(patient)s)) AND NOT (EXISTS
(SELECT later.plan FROM plan_event AS later WHERE later.plan = plan_event.plan AND later.version
= plan_event.version + 1)) AND plan_event.at >= %(low)s AND plan_event.at <= %(high)s AND
(plan_event.at, plan_event.plan, plan_event.version) < (%(after_at)s, %(after_id)s,
%(after_version)s) ORDER BY plan_event.at DESC, plan_event.plan DESC, plan_event.version DESC
LIMIT %(limit)s"""

FIND_PLAN_CHANGED_PATIENT_UP = """\
SELECT plan_event.plan AS id, plan_event.version AS version, plan_event.at AS at FROM plan_event
WHERE plan_event.org = %(org)s AND plan_event.plan IN (SELECT plan.id FROM plan WHERE plan.org =
%(org)s AND plan.patient IN (SELECT %(patient)s AS anon_1 UNION ALL SELECT patient.id FROM
patient WHERE patient.org = %(org)s AND patient.merged_into = %(patient)s)) AND NOT (EXISTS
(SELECT later.plan FROM plan_event AS later WHERE later.plan = plan_event.plan AND later.version
= plan_event.version + 1)) AND plan_event.at >= %(low)s AND plan_event.at <= %(high)s AND
(plan_event.at, plan_event.plan, plan_event.version) > (%(after_at)s, %(after_id)s,
%(after_version)s) ORDER BY plan_event.at ASC, plan_event.plan ASC, plan_event.version ASC LIMIT
%(limit)s"""

FIND_PLAN_OBSERVED_ALL_DOWN = """\
SELECT plan.id AS id, plan.screen_version AS version, plan.valid_from AS at FROM plan WHERE
plan.org = %(org)s AND plan.valid_from >= %(low)s AND plan.valid_from <= %(high)s AND
(plan.valid_from, plan.id, plan.screen_version) < (%(after_at)s, %(after_id)s,
%(after_version)s) ORDER BY plan.valid_from DESC, plan.id DESC, plan.screen_version DESC LIMIT
%(limit)s"""

FIND_PLAN_OBSERVED_ALL_UP = """\
SELECT plan.id AS id, plan.screen_version AS version, plan.valid_from AS at FROM plan WHERE
plan.org = %(org)s AND plan.valid_from >= %(low)s AND plan.valid_from <= %(high)s AND
(plan.valid_from, plan.id, plan.screen_version) > (%(after_at)s, %(after_id)s,
%(after_version)s) ORDER BY plan.valid_from ASC, plan.id ASC, plan.screen_version ASC LIMIT
%(limit)s"""

FIND_PLAN_OBSERVED_PATIENT_DOWN = """\
SELECT plan.id AS id, plan.screen_version AS version, plan.valid_from AS at FROM plan WHERE
plan.org = %(org)s AND plan.patient IN (SELECT %(patient)s AS anon_1 UNION ALL SELECT patient.id
FROM patient WHERE patient.org = %(org)s AND patient.merged_into = %(patient)s) AND
plan.valid_from >= %(low)s AND plan.valid_from <= %(high)s AND (plan.valid_from, plan.id,
plan.screen_version) < (%(after_at)s, %(after_id)s, %(after_version)s) ORDER BY plan.valid_from
DESC, plan.id DESC, plan.screen_version DESC LIMIT %(limit)s"""

FIND_PLAN_OBSERVED_PATIENT_UP = """\
SELECT plan.id AS id, plan.screen_version AS version, plan.valid_from AS at FROM plan WHERE
plan.org = %(org)s AND plan.patient IN (SELECT %(patient)s AS anon_1 UNION ALL SELECT patient.id
FROM patient WHERE patient.org = %(org)s AND patient.merged_into = %(patient)s) AND
plan.valid_from >= %(low)s AND plan.valid_from <= %(high)s AND (plan.valid_from, plan.id,
plan.screen_version) > (%(after_at)s, %(after_id)s, %(after_version)s) ORDER BY plan.valid_from
ASC, plan.id ASC, plan.screen_version ASC LIMIT %(limit)s"""

FIND_SCREEN_CHANGED_ALL_DOWN = """\
SELECT screen.id AS id, screen.version AS version, screen.recorded AS at FROM screen WHERE
screen.org = %(org)s AND screen.recorded >= %(low)s AND screen.recorded <= %(high)s AND
(screen.recorded, screen.id, screen.version) < (%(after_at)s, %(after_id)s, %(after_version)s)
ORDER BY screen.recorded DESC, screen.id DESC, screen.version DESC LIMIT %(limit)s"""

FIND_SCREEN_CHANGED_ALL_UP = """\
SELECT screen.id AS id, screen.version AS version, screen.recorded AS at FROM screen WHERE
screen.org = %(org)s AND screen.recorded >= %(low)s AND screen.recorded <= %(high)s AND
(screen.recorded, screen.id, screen.version) > (%(after_at)s, %(after_id)s, %(after_version)s)
ORDER BY screen.recorded ASC, screen.id ASC, screen.version ASC LIMIT %(limit)s"""

FIND_SCREEN_CHANGED_PATIENT_DOWN = """\
SELECT screen.id AS id, screen.version AS version, screen.recorded AS at FROM screen WHERE
screen.org = %(org)s AND screen.patient IN (SELECT %(patient)s AS anon_1 UNION ALL SELECT
patient.id FROM patient WHERE patient.org = %(org)s AND patient.merged_into = %(patient)s) AND
screen.recorded >= %(low)s AND screen.recorded <= %(high)s AND (screen.recorded, screen.id,
screen.version) < (%(after_at)s, %(after_id)s, %(after_version)s) ORDER BY screen.recorded DESC,
screen.id DESC, screen.version DESC LIMIT %(limit)s"""

FIND_SCREEN_CHANGED_PATIENT_UP = """\
SELECT screen.id AS id, screen.version AS version, screen.recorded AS at FROM screen WHERE
screen.org = %(org)s AND screen.patient IN (SELECT %(patient)s AS anon_1 UNION ALL SELECT
patient.id FROM patient WHERE patient.org = %(org)s AND patient.merged_into = %(patient)s) AND
screen.recorded >= %(low)s AND screen.recorded <= %(high)s AND (screen.recorded, screen.id,
screen.version) > (%(after_at)s, %(after_id)s, %(after_version)s) ORDER BY screen.recorded ASC,
screen.id ASC, screen.version ASC LIMIT %(limit)s"""

FIND_SCREEN_OBSERVED_ALL_DOWN = """\
SELECT screen.id AS id, screen.version AS version, screen.observed AS at FROM screen WHERE
screen.org = %(org)s AND NOT (EXISTS (SELECT later.id FROM screen AS later WHERE later.id =
screen.id AND later.version = screen.version + 1)) AND screen.observed >= %(low)s AND
screen.observed <= %(high)s AND (screen.observed, screen.id, screen.version) < (%(after_at)s,
%(after_id)s, %(after_version)s) ORDER BY screen.observed DESC, screen.id DESC, screen.version
DESC LIMIT %(limit)s"""

FIND_SCREEN_OBSERVED_ALL_UP = """\
SELECT screen.id AS id, screen.version AS version, screen.observed AS at FROM screen WHERE
screen.org = %(org)s AND NOT (EXISTS (SELECT later.id FROM screen AS later WHERE later.id =
screen.id AND later.version = screen.version + 1)) AND screen.observed >= %(low)s AND
screen.observed <= %(high)s AND (screen.observed, screen.id, screen.version) > (%(after_at)s,
%(after_id)s, %(after_version)s) ORDER BY screen.observed ASC, screen.id ASC, screen.version ASC
LIMIT %(limit)s"""

FIND_SCREEN_OBSERVED_PATIENT_DOWN = """\
SELECT screen.id AS id, screen.version AS version, screen.observed AS at FROM screen WHERE
screen.org = %(org)s AND screen.patient IN (SELECT %(patient)s AS anon_1 UNION ALL SELECT
patient.id FROM patient WHERE patient.org = %(org)s AND patient.merged_into = %(patient)s) AND
NOT (EXISTS (SELECT later.id FROM screen AS later WHERE later.id = screen.id AND later.version =
screen.version + 1)) AND screen.observed >= %(low)s AND screen.observed <= %(high)s AND
(screen.observed, screen.id, screen.version) < (%(after_at)s, %(after_id)s, %(after_version)s)
ORDER BY screen.observed DESC, screen.id DESC, screen.version DESC LIMIT %(limit)s"""

FIND_SCREEN_OBSERVED_PATIENT_UP = """\
SELECT screen.id AS id, screen.version AS version, screen.observed AS at FROM screen WHERE
screen.org = %(org)s AND screen.patient IN (SELECT %(patient)s AS anon_1 UNION ALL SELECT
patient.id FROM patient WHERE patient.org = %(org)s AND patient.merged_into = %(patient)s) AND
NOT (EXISTS (SELECT later.id FROM screen AS later WHERE later.id = screen.id AND later.version =
screen.version + 1)) AND screen.observed >= %(low)s AND screen.observed <= %(high)s AND
(screen.observed, screen.id, screen.version) > (%(after_at)s, %(after_id)s, %(after_version)s)
ORDER BY screen.observed ASC, screen.id ASC, screen.version ASC LIMIT %(limit)s"""

FORGET_CLAIMS = """\
DELETE FROM idempotency WHERE idempotency.at < %(before)s"""

FORGET_CLAIMS_OF = """\
DELETE FROM idempotency WHERE idempotency.org = %(of_org)s"""

INSERT_AUDIT = """\
INSERT INTO audit (org, chain, seq, at, body, digest) VALUES (%s, %s, %s, %s, %s, %s)"""

INSERT_AUDIT_SEAL = """\
INSERT INTO audit_seal (org, n, at, body, digest) VALUES (%s, %s, %s, %s, %s)"""

INSERT_CREDENTIAL = """\
INSERT INTO credential (id, org, name, prefix, hash, created, expires, revoked, scopes,
last_used) VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s)"""

INSERT_IDEMPOTENCY = """\
INSERT INTO idempotency (org, credential, operation, key, digest, screen, at) VALUES (%s, %s,
%s, %s, %s, %s, %s)"""

INSERT_ORGANISATION = """\
INSERT INTO organisation (org, name, time_zone, settings, patient_key, created) VALUES (%s, %s,
%s, %s, %s, %s)"""

INSERT_OUTBOX = """\
INSERT INTO outbox (id, org, patient, rev, target, ref, next_try, tries, done) VALUES (%s, %s,
%s, %s, %s, %s, %s, %s, %s)"""

INSERT_PATIENT = """\
INSERT INTO patient (org, id, rev, current_plan, current_screen, current_observed,
current_until, merged_into, schema_no, body) VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s)"""

INSERT_PATIENT_ID = """\
INSERT INTO patient_id (org, system, value, patient) VALUES (%s, %s, %s, %s)"""

INSERT_PLAN = """\
INSERT INTO plan (id, org, patient, screen, screen_version, valid_from, valid_until, rule_book,
schema_no, body) VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s)"""

INSERT_PLAN_EVENT = """\
INSERT INTO plan_event (plan, version, org, patient, rev, at, kind, actor, body) VALUES (%s, %s,
%s, %s, %s, %s, %s, %s, %s)"""

INSERT_SCREEN = """\
INSERT INTO screen (id, version, org, patient, observed, recorded, status, source_id, features,
rule_book, schema_no, body) VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s)"""

JOINED_PATIENTS = """\
SELECT patient.org, patient.id, patient.rev, patient.current_plan, patient.current_screen,
patient.current_observed, patient.current_until, patient.merged_into, patient.schema_no,
patient.body FROM patient WHERE patient.org = %(org)s AND patient.id IN (SELECT member.id FROM
patient AS member WHERE member.org = %(org)s AND member.merged_into = %(merged_into)s)"""

LAST_EVENT = """\
SELECT max(plan_event.version) AS max_1, max(CASE WHEN (plan_event.kind = 'overruled' OR
plan_event.kind = 'lapsed' AND plan_event.at < (SELECT plan.valid_until FROM plan WHERE plan.id
= plan_event.plan)) THEN plan_event.version END) AS max_2 FROM plan_event WHERE plan_event.plan
= %(plan)s"""

LAST_RECORDED = """\
SELECT max(screen.recorded) AS max_1 FROM screen WHERE screen.org = %(org)s"""

LAST_SEAL = """\
SELECT audit_seal.org, audit_seal.n, audit_seal.at, audit_seal.body, audit_seal.digest FROM
audit_seal WHERE audit_seal.org = %(org)s ORDER BY audit_seal.n DESC LIMIT 1"""

LEADING_SCREEN = """\
SELECT screen.id, screen.observed, plan.id AS plan, plan.valid_until FROM screen JOIN plan ON
plan.screen = screen.id AND plan.screen_version = screen.version WHERE screen.org = %(org)s AND
screen.patient IN (SELECT %(patient)s AS anon_1 UNION ALL SELECT member.id FROM patient AS
member WHERE member.org = %(org)s AND member.merged_into = %(patient)s) AND screen.status !=
'withdrawn' AND NOT (EXISTS (SELECT later.id FROM screen AS later WHERE later.id = screen.id AND
later.version = screen.version + 1)) ORDER BY screen.observed DESC, screen.id DESC LIMIT 1"""

NEXT_SYSTEM = """\
SELECT min(patient_id.system) AS min_1 FROM patient_id WHERE patient_id.org = %(org)s AND
patient_id.system > %(after_system)s"""

ORGANISATION = """\
SELECT organisation.org, organisation.name, organisation.time_zone, organisation.settings,
organisation.patient_key, organisation.created FROM organisation WHERE organisation.org =
%(org)s"""

ORGANISATIONS = """\
SELECT organisation.org, organisation.name, organisation.time_zone, organisation.settings,
organisation.patient_key, organisation.created FROM organisation ORDER BY organisation.org"""

OUTBOX_WAITING = """\
SELECT count(*) AS count_1, min(outbox.id) AS min_1 FROM outbox WHERE outbox.done IS NULL"""

PATIENT = """\
SELECT patient.org, patient.id, patient.rev, patient.current_plan, patient.current_screen,
patient.current_observed, patient.current_until, patient.merged_into, patient.schema_no,
patient.body FROM patient WHERE patient.org = %(org)s AND patient.id = %(id)s"""

PATIENT_ID = """\
SELECT patient_id.patient FROM patient_id WHERE patient_id.org = %(org)s AND patient_id.system =
%(system)s AND patient_id.value = %(value)s"""

PATIENTS_AFTER = """\
SELECT patient.org, patient.id, patient.rev, patient.current_plan, patient.current_screen,
patient.current_observed, patient.current_until, patient.merged_into, patient.schema_no,
patient.body FROM patient WHERE patient.org = %(org)s AND patient.id > %(after_id)s ORDER BY
patient.id LIMIT %(limit)s"""

PATIENTS_DUE = """\
SELECT patient.org, patient.id, patient.rev, patient.current_plan, patient.current_screen,
patient.current_observed, patient.current_until, patient.merged_into, patient.schema_no,
patient.body FROM patient WHERE patient.current_until <= %(now)s ORDER BY patient.current_until
LIMIT %(limit)s"""

PLAN = """\
SELECT plan.id, plan.org, plan.patient, plan.screen, plan.screen_version, plan.valid_from,
plan.valid_until, plan.rule_book, plan.schema_no, plan.body FROM plan WHERE plan.org = %(org)s
AND plan.id = %(id)s"""

PLAN_OF_SCREEN = """\
SELECT plan.id, plan.org, plan.patient, plan.screen, plan.screen_version, plan.valid_from,
plan.valid_until, plan.rule_book, plan.schema_no, plan.body FROM plan WHERE plan.org = %(org)s
AND plan.screen = %(screen)s AND plan.screen_version <= %(version)s ORDER BY plan.screen_version
DESC LIMIT 1"""

PLANS_OF = """\
SELECT plan.id, plan.org, plan.patient, plan.screen, plan.screen_version, plan.valid_from,
plan.valid_until, plan.rule_book, plan.schema_no, plan.body FROM plan WHERE plan.org = %(org)s
AND plan.patient IN (SELECT %(patient)s AS anon_1 UNION ALL SELECT member.id FROM patient AS
member WHERE member.org = %(org)s AND member.merged_into = %(patient)s) AND (plan.valid_from,
plan.id) < (%(after_valid_from)s, %(after_id)s) ORDER BY plan.valid_from DESC, plan.id DESC
LIMIT %(limit)s"""

REDIRECT_MERGED = """\
UPDATE patient SET merged_into=%(into)s WHERE patient.org = %(of_org)s AND patient.merged_into =
%(gone)s"""

REVOKE_CREDENTIAL = """\
UPDATE credential SET revoked=%(at)s WHERE credential.id = %(of_id)s AND credential.revoked IS
NULL"""

SCREEN = """\
SELECT screen.id, screen.version, screen.org, screen.patient, screen.observed, screen.recorded,
screen.status, screen.source_id, screen.features, screen.rule_book, screen.schema_no,
screen.body FROM screen WHERE screen.org = %(org)s AND screen.id = %(id)s ORDER BY
screen.version DESC LIMIT 1"""

SCREEN_OF_SOURCE = """\
SELECT screen.id, screen.version, screen.org, screen.patient, screen.observed, screen.recorded,
screen.status, screen.source_id, screen.features, screen.rule_book, screen.schema_no,
screen.body FROM screen WHERE screen.org = %(org)s AND screen.source_id = %(source_id)s AND
screen.version = 1"""

SCREEN_VERSION = """\
SELECT screen.id, screen.version, screen.org, screen.patient, screen.observed, screen.recorded,
screen.status, screen.source_id, screen.features, screen.rule_book, screen.schema_no,
screen.body FROM screen WHERE screen.org = %(org)s AND screen.id = %(id)s AND screen.version =
%(version)s"""

SCREENS_OF = """\
SELECT screen.id, screen.version, screen.org, screen.patient, screen.observed, screen.recorded,
screen.status, screen.source_id, screen.features, screen.rule_book, screen.schema_no,
screen.body FROM screen WHERE screen.org = %(org)s AND screen.patient IN (SELECT %(patient)s AS
anon_1 UNION ALL SELECT member.id FROM patient AS member WHERE member.org = %(org)s AND
member.merged_into = %(patient)s) AND (screen.observed, screen.id) < (%(after_observed)s,
%(after_id)s) AND NOT (EXISTS (SELECT later.id FROM screen AS later WHERE later.id = screen.id
AND later.version = screen.version + 1)) ORDER BY screen.observed DESC, screen.id DESC LIMIT
%(limit)s"""

SCREENS_SINCE = """\
SELECT screen.id, screen.version, screen.org, screen.patient, screen.observed, screen.recorded,
screen.status, screen.source_id, screen.features, screen.rule_book, screen.schema_no,
screen.body FROM screen WHERE screen.org = %(org)s AND NOT (EXISTS (SELECT later.id FROM screen
AS later WHERE later.id = screen.id AND later.version = screen.version + 1)) AND
(screen.recorded, screen.id) > (%(after_recorded)s, %(after_id)s) ORDER BY screen.recorded,
screen.id LIMIT %(limit)s"""

SET_ORGANISATION = """\
UPDATE organisation SET name=%(name)s, time_zone=%(time_zone)s, settings=%(settings)s WHERE
organisation.org = %(of_org)s"""

TOLD_OF = """\
SELECT screen.id, screen.version, screen.recorded, screen.status, screen.schema_no, screen.body
FROM screen WHERE screen.org = %(org)s AND screen.patient = %(patient)s ORDER BY screen.recorded
DESC, screen.id DESC, screen.version DESC LIMIT %(limit)s"""

UNSEEN_PATIENTS = """\
SELECT patient.id FROM patient WHERE patient.org = %(org)s AND patient.merged_into IS NULL AND
NOT (EXISTS (SELECT screen.id FROM screen WHERE screen.org = patient.org AND screen.patient =
patient.id AND screen.recorded >= %(since)s)) AND NOT (EXISTS (SELECT screen.id FROM screen JOIN
patient AS member ON member.org = screen.org AND member.id = screen.patient WHERE member.org =
patient.org AND member.merged_into = patient.id AND screen.recorded >= %(since)s)) ORDER BY
patient.id"""

UPDATE_PATIENT = """\
UPDATE patient SET rev=%(rev)s, current_plan=%(current_plan)s,
current_screen=%(current_screen)s, current_observed=%(current_observed)s,
current_until=%(current_until)s, merged_into=%(merged_into)s, schema_no=%(schema_no)s,
body=%(body)s WHERE patient.org = %(of_org)s AND patient.id = %(of_id)s"""

USE_CREDENTIAL = """\
UPDATE credential SET last_used=%(at)s WHERE credential.id = %(of_id)s"""

VERSIONS_OF = """\
SELECT screen.id, screen.version, screen.org, screen.patient, screen.observed, screen.recorded,
screen.status, screen.source_id, screen.features, screen.rule_book, screen.schema_no,
screen.body FROM screen WHERE screen.org = %(org)s AND screen.id = %(id)s ORDER BY
screen.version DESC LIMIT %(limit)s"""

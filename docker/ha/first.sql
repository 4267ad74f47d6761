-- The two roles of the service and its database. Passwords are read from files, and the
-- statements that carry them are kept out of the server's log.
SET log_statement = 'none';
SET log_min_error_statement = 'panic';
SET log_min_duration_statement = -1;
\set owner `cat "$SECRETS/owner"`
\set reader `cat "$SECRETS/reader"`
CREATE ROLE stanchion LOGIN PASSWORD :'owner' CONNECTION LIMIT 80;
CREATE ROLE stanchion_read LOGIN PASSWORD :'reader' CONNECTION LIMIT 200;
CREATE DATABASE stanchion OWNER stanchion;
REVOKE ALL ON DATABASE stanchion FROM PUBLIC;
GRANT CONNECT ON DATABASE stanchion TO stanchion_read;

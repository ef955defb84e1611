#!/bin/sh
# At the database's first start, as its owner: the service's own role and database. The role can do everything in that
# database, because the service brings its tables up to date itself, and nothing anywhere else.
set -eu
psql -v ON_ERROR_STOP=1 -v password="$SERVICE_PASSWORD" --username postgres --dbname postgres --quiet <<'SQL'
CREATE ROLE laptight LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOREPLICATION NOBYPASSRLS PASSWORD :'password';
CREATE DATABASE laptight OWNER laptight ENCODING 'UTF8' TEMPLATE template0;
REVOKE ALL ON DATABASE laptight, postgres, template1 FROM PUBLIC;
\connect laptight
REVOKE ALL ON SCHEMA public FROM PUBLIC;
ALTER SCHEMA public OWNER TO laptight;
SQL

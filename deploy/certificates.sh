#!/bin/sh
# Once, before the database starts: an authority of this installation's own and, by it, the database's certificate.
# The authority's key is not kept, so nothing else is ever signed by it. Run again, it changes nothing until the last
# month; then both are made anew, and the database and the service are to be started again.
#   certificates.sh FOR_THE_DATABASE FOR_THE_SERVICE [OWNER]
set -eu
umask 077
database=$1 service=$2 owner=${3:-}
if [ -f "$service/authority.crt" ] && openssl x509 -in "$database/server.crt" -noout -checkend 2592000 >/dev/null; then
  exit 0
fi
made=$(mktemp -d)
trap 'rm -rf "$made"' EXIT
openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -noenc -days 3650 -sha256 \
  -subj "/CN=this installation's own authority" -addext "keyUsage=critical,keyCertSign" \
  -keyout "$made/authority.key" -out "$made/authority.crt" 2>/dev/null
openssl req -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -noenc -subj "/CN=database" \
  -keyout "$made/server.key" -out "$made/server.csr" 2>/dev/null
printf 'subjectAltName=DNS:database\nbasicConstraints=CA:FALSE\nextendedKeyUsage=serverAuth\n' >"$made/for"
openssl x509 -req -in "$made/server.csr" -CA "$made/authority.crt" -CAkey "$made/authority.key" -CAcreateserial \
  -days 3640 -sha256 -extfile "$made/for" -out "$made/server.crt" 2>/dev/null
cp "$made/server.key" "$made/server.crt" "$database/"
cp "$made/authority.crt" "$service/"
chmod 600 "$database/server.key"
chmod 644 "$database/server.crt" "$service/authority.crt"
chmod 755 "$database" "$service"
if [ -n "$owner" ]; then chown "$owner" "$database/server.key" "$database/server.crt"; fi

#!/bin/sh
# Runs one part of the database: `node.sh patroni`, `node.sh etcd …` or `node.sh haproxy`.
# Passwords come from files below $SECRETS; none is an argument, which any process could read.
set -eu
umask 077
SECRETS=${SECRETS:-/run/secrets}
export SECRETS
here=$(dirname "$0")

secret() {
    test -s "$SECRETS/$1" || { echo "The secret $SECRETS/$1 is not there." >&2; exit 2; }
    cat "$SECRETS/$1"
}

part=$1
shift
case $part in
patroni)
    PATRONI_SUPERUSER_PASSWORD=$(secret superuser)
    PATRONI_REPLICATION_PASSWORD=$(secret replication)
    PATRONI_REWIND_PASSWORD=$(secret rewind)
    PATRONI_RESTAPI_PASSWORD=$(secret restapi)
    export PATRONI_SUPERUSER_PASSWORD PATRONI_REPLICATION_PASSWORD PATRONI_REWIND_PASSWORD
    export PATRONI_RESTAPI_PASSWORD
    exec patroni "${PATRONI_FILE:-$here/patroni.yaml}"
    ;;
etcd)
    # Nobody speaks to it, member or client, without a certificate of the house's own authority.
    exec etcd --client-cert-auth --trusted-ca-file "$SECRETS/ca.crt" \
        --cert-file "$SECRETS/node.crt" --key-file "$SECRETS/node.key" \
        --peer-client-cert-auth --peer-trusted-ca-file "$SECRETS/ca.crt" \
        --peer-cert-file "$SECRETS/node.crt" --peer-key-file "$SECRETS/node.key" \
        --auto-compaction-mode periodic --auto-compaction-retention 1h "$@"
    ;;
haproxy)
    exec haproxy -db -f "${HAPROXY_FILE:-$here/haproxy.cfg}"
    ;;
*)
    echo "No such part: $part" >&2
    exit 2
    ;;
esac

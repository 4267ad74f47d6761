"""What else happens to a database that is never meant to be away?"""

import signal
import time

from tests.exercises.clients import Wards
from tests.exercises.cluster import NODES, Cluster
from tests.exercises.parts import tell, until

WITHOUT_STANDBY_S = 20.0
IN_FLIGHT_S = 2.0
"""An answer may have been on its way so long when the last standby went."""
PARTED_S = 40.0
SETTLED_S = 120.0


def connections_lost(cluster: Cluster, _wards: Wards) -> None:
    """Five times, all of them at once, whatever they are in the middle of."""
    for _ in range(5):
        cluster.send_away()
        time.sleep(1)


def server_killed(cluster: Cluster, _wards: Wards) -> None:
    """PostgreSQL alone, while its Patroni looks on."""
    leading = cluster.primary()
    assert leading is not None
    for pid in cluster.nodes[leading].orphans():
        tell(pid, signal.SIGKILL)
    until("a whole cluster", cluster.whole, SETTLED_S)


def etcd_leader_killed(cluster: Cluster, _wards: Wards) -> None:
    leading = cluster.etcd_leader()
    assert leading is not None
    cluster.etcd[leading].kill()
    time.sleep(15)
    cluster.etcd[leading].start()


def etcd_gone(cluster: Cluster, _wards: Wards) -> None:
    """All of it for longer than a leader's word lasts; the nodes still reach each other."""
    for part in cluster.etcd.values():
        part.kill()
    time.sleep(40)
    for part in cluster.etcd.values():
        part.start()
    until("an etcd leader", lambda: cluster.etcd_leader() is not None, SETTLED_S)


def haproxy_restarted(cluster: Cluster, _wards: Wards) -> None:
    cluster.haproxy.kill()
    time.sleep(1)
    cluster.haproxy.start()


def synchronous_standby_killed(cluster: Cluster, _wards: Wards) -> None:
    """Writes wait until the other one has taken its place."""
    (standby,) = cluster.synchronous()
    cluster.nodes[standby].kill()
    time.sleep(20)
    cluster.nodes[standby].start()


def no_standby_left(cluster: Cluster, wards: Wards) -> None:
    """Nothing that is written may be answered; nothing that was answered is lost."""
    standbys = [node for node in NODES if node != cluster.primary()]
    for node in standbys:
        cluster.nodes[node].kill()
    gone = time.monotonic()
    time.sleep(WITHOUT_STANDBY_S)
    unreplicated = wards.answered_after(gone + IN_FLIGHT_S)
    if unreplicated:
        wards.told.gave_up.append(f"{len(unreplicated)} writes answered without a standby")
    for node in standbys:
        cluster.nodes[node].start()


def primary_frozen(cluster: Cluster, _wards: Wards) -> None:
    """It keeps its connections and says nothing; another is chosen, and it comes back after."""
    leading = cluster.primary()
    assert leading is not None
    cluster.nodes[leading].freeze()
    until("another primary", lambda: cluster.primary() not in (None, leading), SETTLED_S)
    time.sleep(5)
    cluster.nodes[leading].thaw()


def switched_over(cluster: Cluster, _wards: Wards) -> None:
    """As before maintenance: planned, to the synchronous standby."""
    cluster.switch_over(cluster.synchronous()[0])


ALL = (
    ("connections ended", connections_lost),
    ("planned switchover", switched_over),
    ("postgres alone killed", server_killed),
    ("etcd leader killed", etcd_leader_killed),
    ("all of etcd away for 40 s", etcd_gone),
    ("HAProxy restarted", haproxy_restarted),
    ("synchronous standby killed", synchronous_standby_killed),
    ("both standbys away for 20 s", no_standby_left),
    ("primary frozen", primary_frozen),
)

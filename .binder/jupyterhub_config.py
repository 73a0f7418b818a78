"""JupyterHub for a class: what holds on any hub.

Load it from a configuration of your own, which says who may log in and where the servers run:

    load_subconfig("/srv/boxlab/.binder/jupyterhub_config.py")  # noqa

It listens on this machine alone. Put a proxy with TLS in front before a class connects.
"""

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
c = get_config()  # noqa: F821  JupyterHub has it ready

c.JupyterHub.bind_url = "http://127.0.0.1:8000"
c.JupyterHub.concurrent_spawn_limit = 10  # the rest of a class wait their turn
c.JupyterHub.active_server_limit = 40  # what memory is planned for; one more is told to wait

# Each server brings its learner a copy of the lessons before it starts.
c.Spawner.cmd = [sys.executable, str(HERE / "learner_server.py")]
c.Spawner.default_url = "/lab/tree/boxlab/lessons/00-start-here.ipynb"
c.Spawner.start_timeout = 120
c.Spawner.http_timeout = 120
c.Spawner.environment = {
    # A picture takes one core. More threads for each learner only get into each other's way.
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
}
c.Spawner.args = [
    "--ServerApp.terminals_enabled=False",
    # The kernel of a notebook that is closed goes after ten minutes; it is most of the memory.
    "--MappingKernelManager.cull_idle_timeout=600",
    "--MappingKernelManager.cull_interval=60",
    # Pictures, not errors, on a page that was saved and is opened again.
    "--ServerApp.contents_manager_class=boxlab.publish.still_contents.Contents",
    # An upload of more bytes cuts the connection; the usual 10 MB is less than many a recording.
    "--ServerApp.tornado_settings={'websocket_max_message_size': 100_000_000}",
    "--LabApp.news_url=None",
    "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
]
# Spawners that start containers or systemd units hold learners to these. Those that start plain
# processes do not.
c.Spawner.mem_limit = "1G"
c.Spawner.cpu_limit = 1.0

# A server that nobody has used for an hour is stopped. Files stay.
c.JupyterHub.services = [
    {
        "name": "idle-culler",
        "command": [sys.executable, "-m", "jupyterhub_idle_culler", "--timeout=3600"],
    }
]
c.JupyterHub.load_roles = [
    {
        "name": "idle-culler",
        "services": ["idle-culler"],
        "scopes": [
            "list:users",
            "read:users:activity",
            "read:servers",
            "delete:servers",
        ],
    }
]

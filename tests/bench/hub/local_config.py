"""The hub of the trial: one machine, loopback only, invented learners. Never for a network.

Without accounts everybody's server runs as the same system user, and no learner is kept from
another.
"""

import json
import os
from pathlib import Path

trial = json.loads(os.environ["BOXLAB_TRIAL_HUB"])
scratch, real = Path(trial["scratch"]), trial["accounts"]
BINDER = Path(__file__).resolve().parents[3] / ".binder"
c = get_config()  # noqa: F821  JupyterHub has these two ready
load_subconfig(str(BINDER / ("one_machine.py" if real else "jupyterhub_config.py")))  # noqa: F821

c.JupyterHub.bind_url = trial["base"]
c.JupyterHub.hub_bind_url = f"http://127.0.0.1:{trial['hub_port']}"
c.ConfigurableHTTPProxy.api_url = f"http://127.0.0.1:{trial['proxy_port']}"
c.ConfigurableHTTPProxy.command = [str(scratch / "proxy/node_modules/.bin/configurable-http-proxy")]
c.ConfigurableHTTPProxy.pid_file = str(scratch / "run/proxy.pid")
c.JupyterHub.db_url = f"sqlite:///{scratch / 'run/hub.sqlite'}"
c.JupyterHub.cookie_secret_file = str(scratch / "run/cookie_secret")

if not real:
    c.JupyterHub.authenticator_class = "dummy"
    c.DummyAuthenticator.password = trial["password"]
    c.Authenticator.allow_all = True
    c.JupyterHub.spawner_class = "simple"
    c.SimpleLocalProcessSpawner.home_dir_template = str(scratch / "run/homes/{username}")
    c.Spawner.environment["JUPYTERLAB_SETTINGS_DIR"] = str(scratch / "run/settings")
    if os.geteuid() == 0:
        c.Spawner.args = [*c.Spawner.args, "--allow-root"]

c.Spawner.ip = "127.0.0.1"
c.Spawner.environment["BOXLAB_TRIAL"] = trial["mark"]  # by which the trial knows its processes
# Should hub and trial both be killed, the servers still go by themselves.
c.Spawner.args = [*c.Spawner.args, "--ServerApp.shutdown_no_activity_timeout=900"]

# The trial asks the hub for what runs and stops servers. It also runs a second culler, with a
# short time but with no more rights than the first.
(culler,) = c.JupyterHub.services
culler["api_token"] = trial["culler_token"]
c.JupyterHub.services = [culler, {"name": "trial", "api_token": trial["token"]}]
c.JupyterHub.load_roles = [
    *c.JupyterHub.load_roles,
    {"name": "trial", "services": ["trial"], "scopes": ["admin:users", "admin:servers"]},
]

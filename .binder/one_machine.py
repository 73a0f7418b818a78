"""A class on one Linux machine: the machine's own accounts log in, over TLS.

lessons/workshop/one-machine.md says how the folder is made that this is started in:

    cd /srv/hub
    sudo BOXLAB_ADDRESS=192.168.1.10 env/bin/jupyterhub -f /srv/boxlab/.binder/one_machine.py

Without an address it can be reached from this machine alone, so that it can be tried first.
"""

import os
import sys
from pathlib import Path

c = get_config()  # noqa: F821  JupyterHub has these two ready
load_subconfig(str(Path(__file__).resolve().with_name("jupyterhub_config.py")))  # noqa: F821

PLACE = Path.cwd()
GROUP = "evening-class"
certificate, key = PLACE / "class.crt", PLACE / "class.key"
for file in (certificate, key):
    if not file.is_file():  # never a class's passwords in the clear
        sys.exit(f"{file} is missing: make the certificate first, and start this in its folder")

# Python and project as learners reach them: not below a home that is closed.
for needed in (Path(sys.executable).resolve(), Path(__file__).resolve()):
    shut = [str(folder) for folder in needed.parents if not folder.stat().st_mode & 0o001]
    if shut:
        sys.exit(
            f"learners cannot reach {needed}, because {shut[-1]} is closed to them: make the "
            "environment with /usr/bin/python3, and keep all of it in /srv"
        )

address = os.environ.get("BOXLAB_ADDRESS", "127.0.0.1")
c.JupyterHub.bind_url = f"https://{address}:8443"
c.JupyterHub.ssl_cert, c.JupyterHub.ssl_key = str(certificate), str(key)
c.ConfigurableHTTPProxy.command = [str(PLACE / "proxy/node_modules/.bin/configurable-http-proxy")]

c.JupyterHub.authenticator_class = "pam"
c.LocalAuthenticator.allowed_groups = {GROUP}

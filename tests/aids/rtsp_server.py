"""A small RTSP camera of GStreamer's, run by the system's own Python: PORT [USER PASSWORD]."""

import sys

import gi

gi.require_version("Gst", "1.0")
gi.require_version("GstRtspServer", "1.0")
from gi.repository import GLib, Gst, GstRtspServer  # noqa: E402

Gst.init(None)
server = GstRtspServer.RTSPServer()
server.set_address("127.0.0.1")
server.set_service(sys.argv[1])
factory = GstRtspServer.RTSPMediaFactory()
factory.set_launch(
    "( videotestsrc is-live=true pattern=ball ! video/x-raw,format=I420,width=320,height=240,framerate=10/1"
    " ! x264enc tune=zerolatency speed-preset=ultrafast key-int-max=10 ! rtph264pay name=pay0 pt=96 )"
)
factory.set_shared(True)
if len(sys.argv) > 3:
    auth = GstRtspServer.RTSPAuth()
    token = GstRtspServer.RTSPToken()
    token.set_string("media.factory.role", "caster")
    auth.add_basic(GstRtspServer.RTSPAuth.make_basic(sys.argv[2], sys.argv[3]), token)
    server.set_auth(auth)
    permissions = GstRtspServer.RTSPPermissions()
    permissions.add_permission_for_role("caster", "media.factory.access", True)
    permissions.add_permission_for_role("caster", "media.factory.construct", True)
    factory.set_permissions(permissions)
server.get_mount_points().add_factory("/bench", factory)
server.attach(None)
print("listening", flush=True)
GLib.MainLoop().run()

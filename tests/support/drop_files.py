"""Drops files on a window as a file manager does, by the XDND protocol (version 5, freedesktop.org).

    python drop_files.py WINDOW X Y FILE…

X and Y are pixels of the screen. Ends with 0 once the window has said that it took the files.
"""

import select
import sys
import time
from pathlib import Path

from Xlib import X, display
from Xlib.protocol import event

DEADLINE = time.monotonic() + 20


def main() -> int:
    target_id, x, y = (int(a) for a in sys.argv[1:4])
    uris = "".join(Path(f).resolve().as_uri() + "\r\n" for f in sys.argv[4:]).encode()
    screen = display.Display()
    atom = screen.intern_atom
    names = ["XdndEnter", "XdndPosition", "XdndStatus", "XdndDrop", "XdndFinished", "XdndSelection", "XdndActionCopy", "text/uri-list", "XdndAware"]
    enter, position, status, drop, finished, selection, copy, uri_list, aware = (atom(n) for n in names)
    target = screen.create_resource_object("window", target_id)
    if target.get_full_property(aware, X.AnyPropertyType) is None:
        print("the window takes no files", file=sys.stderr)
        return 1
    source = screen.screen().root.create_window(0, 0, 1, 1, 0, X.CopyFromParent)
    source.set_selection_owner(selection, X.CurrentTime)

    def send(kind, *data):
        values = (32, [source.id, *data] + [0] * (4 - len(data)))
        target.send_event(event.ClientMessage(window=target, client_type=kind, data=values))
        screen.flush()

    send(enter, 5 << 24, uri_list, 0, 0)
    send(position, 0, (x << 16) | y, X.CurrentTime, copy)
    served = answered = dropped = False
    while time.monotonic() < DEADLINE:
        if not screen.pending_events():
            select.select([screen.fileno()], [], [], max(0, DEADLINE - time.monotonic()))
            if not screen.pending_events():
                continue
        now = screen.next_event()
        if now.type == X.SelectionRequest:
            now.requestor.change_property(now.property, now.target, 8, uris)
            answer = event.SelectionNotify(
                time=now.time, requestor=now.requestor, selection=now.selection, target=now.target, property=now.property
            )
            now.requestor.send_event(answer)
            screen.flush()
            served = True
        elif now.type == X.ClientMessage and now.client_type == status:
            answered = True
        elif now.type == X.ClientMessage and now.client_type == finished:
            return 0
        if served and answered and not dropped:
            send(drop, 0, X.CurrentTime, 0, 0)
            dropped = True
    print(f"the window did not take the files (asked: {answered}, read: {served}, dropped: {dropped})", file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main())

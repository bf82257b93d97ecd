#!/usr/bin/python3
"""A window of WebKitGTK that WebKitWebDriver drives and that keeps what a page stores, as an installed browser does.

MiniBrowser forgets everything when it is automated, so it cannot show that a killed browser comes back with all there.
The folder of what is kept is named by WEBKIT_PROFILE.
"""
import os
import sys

import gi

gi.require_version('Gtk', '3.0')
gi.require_version('WebKit2', '4.1')
from gi.repository import Gtk, WebKit2  # noqa: E402


def main():
    profile = os.environ['WEBKIT_PROFILE']
    manager = WebKit2.WebsiteDataManager(base_data_directory=os.path.join(profile, 'data'), base_cache_directory=os.path.join(profile, 'cache'))
    context = WebKit2.WebContext(website_data_manager=manager)
    context.set_automation_allowed(True)
    windows = []

    def new_view(_session, *_):
        view = WebKit2.WebView(web_context=context, is_controlled_by_automation=True)
        window = Gtk.Window()
        window.set_default_size(800, 900)
        window.add(view)
        window.show_all()
        view.connect('close', lambda _view: window.destroy())
        windows.append(window)
        return view

    def started(_context, session):
        info = WebKit2.ApplicationInfo()
        info.set_name('WebKitWindow')
        info.set_version(1, 0, 0)
        session.set_application_info(info)
        session.connect('create-web-view', new_view)

    def downloaded(_context, download):
        def place(download, name):
            download.set_destination('file://' + os.path.join(profile, 'downloads', name))
            return True
        download.connect('decide-destination', place)

    context.connect('automation-started', started)
    context.connect('download-started', downloaded)
    Gtk.main()


sys.exit(main())

"""The server of the screens: the pages, the door before them, and the plain pages that stand outside it."""

import streamlit as st
from starlette.middleware import Middleware

from dashboards import gate, phone, phone_review, shell, sso

app = st.App(
    "app.py",
    routes=[*gate.ROUTES, *sso.ROUTES, *phone.ROUTES, *phone_review.ROUTES, *shell.ROUTES],
    middleware=[Middleware(gate.Gate)],
)

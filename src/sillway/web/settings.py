"""Django's settings. What differs between installations comes from the environment.

``SILLWAY_DATA``: the data folder. ``SILLWAY_ORIGIN``: the address people use
(``https://lot.example:8443``); secure cookies follow from it. ``SILLWAY_PROXY``: ``yes`` behind a
reverse proxy that sets X-Forwarded-Proto and X-Forwarded-For. ``SILLWAY_HOSTS``: further names.
"""

from __future__ import annotations

import os
import secrets
from pathlib import Path
from urllib.parse import urlsplit

from csp.constants import NONE, SELF

from sillway.store import keys, options
from sillway.store.folder import data_folder
from sillway.store.limits import limit
from sillway.web import desks

FOLDER = data_folder()
HERE = Path(__file__).parent
ORIGIN = os.environ.get("SILLWAY_ORIGIN", "http://127.0.0.1:8000")
BEHIND_PROXY = os.environ.get("SILLWAY_PROXY", "no") == "yes"
SECURE = urlsplit(ORIGIN).scheme == "https"

DEBUG = False
try:
    SECRET_KEY = keys.derived("web", FOLDER).hex()
except keys.KeyTrouble:
    # No lot yet (checks, type checker): sessions made with this end with the process.
    SECRET_KEY = secrets.token_hex()
_named = [urlsplit(ORIGIN).hostname or "", *os.environ.get("SILLWAY_HOSTS", "").split(",")]
ALLOWED_HOSTS = sorted({"127.0.0.1", "localhost", "[::1]", *filter(None, _named)})
CSRF_TRUSTED_ORIGINS = [ORIGIN]

INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
    "axes",
    "csp",
    "sillway.store",
    "sillway.web",
    *desks.packages(),
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "sillway.web.session.LastingSessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django_otp.middleware.OTPMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "sillway.web.access.AccessMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "sillway.web.urls"
WSGI_APPLICATION = "sillway.web.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "sillway.web.frame.frame",
            ],
            "builtins": ["sillway.web.templatetags.sheet", "django.templatetags.i18n"],
        },
    }
]
DATABASES = {"default": options.database(FOLDER.database)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "accounts.Account"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "sillway.web.accounts.backend.AccountBackend",
]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
_CHECKS = "django.contrib.auth.password_validation"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"{_CHECKS}.UserAttributeSimilarityValidator",
     "OPTIONS": {"user_attributes": ("name",)}},
    {"NAME": f"{_CHECKS}.MinimumLengthValidator",
     "OPTIONS": {"min_length": limit("sign_in.password_length")}},
    {"NAME": f"{_CHECKS}.CommonPasswordValidator"},
]  # fmt: skip
LOGIN_URL = "accounts:sign_in"
LOGIN_REDIRECT_URL = "lot:lot"
OTP_TOTP_ISSUER = "sillway"
AXES_FAILURE_LIMIT = limit("sign_in.tries")
AXES_COOLOFF_TIME = limit("sign_in.locked") / 3600
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_CALLABLE = "sillway.web.accounts.views.locked_out"
AXES_CLIENT_IP_CALLABLE = "sillway.web.access.address"
AXES_ENABLE_ACCESS_FAILURE_LOG = False
AXES_VERBOSE = False
AXES_USERNAME_CALLABLE = "sillway.web.accounts.backend.known_as"

SESSION_ENGINE = "django.contrib.sessions.backends.db"
SESSION_COOKIE_AGE = limit("sign_in.session")
SESSION_COOKIE_NAME = "sillway"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = True
CSRF_FAILURE_VIEW = "sillway.web.pages.csrf_failed"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
if SECURE and BEHIND_PROXY:
    SECURE_HSTS_SECONDS = 31_536_000  # one year, as the header's RFC 6797 shows it
if BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "media-src": [SELF, "blob:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}
DATA_UPLOAD_MAX_MEMORY_SIZE = limit("record.bytes")
FILE_UPLOAD_MAX_MEMORY_SIZE = DATA_UPLOAD_MAX_MEMORY_SIZE

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
LANGUAGE_COOKIE_NAME = "sillway_language"
LANGUAGE_COOKIE_SAMESITE = "Lax"
LOCALE_PATHS = [str(FOLDER.words)]
USE_I18N = USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "/static/"
STATIC_ROOT = str(FOLDER.static)
STATICFILES_DIRS: list[str] = []
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
    "sillway.web.fits.finder.SheetFinder",
]
_PLAIN = "django.contrib.staticfiles.storage.StaticFilesStorage"
_HASHED = "whitenoise.storage.CompressedManifestStaticFilesStorage"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": _PLAIN if os.environ.get("SILLWAY_STATIC") == "plain" else _HASHED},
}
WHITENOISE_MANIFEST_STRICT = True

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "formatter": "line"},
        "nowhere": {"class": "logging.NullHandler"},
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
    # Whoever knocks with another name gets a 400; it is no fault to fill the console with.
    "loggers": {"django.security.DisallowedHost": {"handlers": ["nowhere"], "propagate": False}},
}
SILENCED_SYSTEM_CHECKS: list[str] = []

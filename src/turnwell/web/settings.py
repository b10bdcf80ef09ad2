"""Django's settings, all of them from `turnwell.web.env`."""

from turnwell.fonts import page_folder
from turnwell.web.env import environment, secret_key
from turnwell.web.security import security

ENVIRONMENT = environment()
HOME = ENVIRONMENT.home
SECURITY = security(ENVIRONMENT)

SECRET_KEY = secret_key(HOME)
DEBUG = False
ALLOWED_HOSTS = list(SECURITY.hosts)

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",
    "turnwell.web.shared",
    "turnwell.web.accounts",
    "turnwell.web.shop",
    "turnwell.web.offices",
    "turnwell.web.visits",
    "turnwell.web.handpieces",
    "turnwell.web.evidence",
    "turnwell.web.jobs",
    "turnwell.web.sterilizers",
    "turnwell.web.lives",
]
AUTH_USER_MODEL = "accounts.User"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "turnwell.web.shared.middleware.page_policy",
    "turnwell.web.shared.middleware.RefusalPages",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
]
ROOT_URLCONF = "turnwell.web.urls"
WSGI_APPLICATION = "turnwell.web.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "turnwell.web.shared.context.house",
            ],
        },
    }
]

DATABASES = {"default": ENVIRONMENT.database()}
EVIDENCE_ROOT = HOME / "evidence"
FILE_UPLOAD_HANDLERS = ["turnwell.web.evidence.uploads.BoundedUploadHandler"]

LANGUAGE_CODE = "en"
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = True
FORM_RENDERER = "turnwell.web.shared.forms.HouseRenderer"

STATIC_URL = "static/"
STATIC_ROOT = HOME / "static"
# The chart program is made on this machine: {% static "turnwell/charts/vega.js" %}.
CHART_PROGRAM = HOME / "made"
STATICFILES_DIRS = [("turnwell/fonts", page_folder()), ("turnwell/charts", CHART_PROGRAM)]

STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}

LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "sign-in"
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]

SESSION_COOKIE_NAME = "turnwell_session"
CSRF_COOKIE_NAME = "turnwell_form"
CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = SECURITY.is_https
SECURE_HSTS_SECONDS = SECURITY.hsts_s
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if ENVIRONMENT.behind_proxy else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CSRF_TRUSTED_ORIGINS = list(SECURITY.trusted_origins)
CSRF_FAILURE_VIEW = "turnwell.web.shared.refusals.csrf_failed"
# Fields and files of one form; the size of a file is bounded by the upload handler.
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 1000
# Each file on its way in holds one open file of the process; a page sends more in several goes.
DATA_UPLOAD_MAX_NUMBER_FILES = 100
# The folder of the chart program is made when the server is prepared; the others are silenced for
# the reasons in `turnwell.web.security`.
SILENCED_SYSTEM_CHECKS = ["staticfiles.W004", *SECURITY.silenced_checks]

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"stderr": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {"django": {"handlers": [], "level": "WARNING", "propagate": True}},
}

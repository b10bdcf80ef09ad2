"""Django's settings, all of them from `turnwell.web.env`."""

from turnwell.fonts import page_folder
from turnwell.web.env import environment, secret_key

ENVIRONMENT = environment()
HOME = ENVIRONMENT.home

SECRET_KEY = secret_key(HOME)
DEBUG = False
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]", *ENVIRONMENT.hosts]

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
]
AUTH_USER_MODEL = "accounts.User"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "turnwell.web.shared.middleware.page_policy",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
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
STATICFILES_DIRS = [("turnwell/fonts", page_folder())]

LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "sign-in"

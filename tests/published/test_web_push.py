"""The examples of RFC 8291 (section 5 and Appendix A) and RFC 8292 (section 2.4).

The vectors are those of the RFCs' source texts. They are held to the library calls that the
sender and the tests' push service make, and to the service's own check of a signature.
"""

import http_ece
import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from benchapp.reminders import push
from tests.reminders.push_service import b64u, point, unb64u, verify_vapid

# RFC 8291 Appendix A; 'as' is the application server, 'ua' the browser.
PLAIN = b"When I grow up, I want to be a watermelon"
AS_PUBLIC = (
    "BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8"
)
AS_PRIVATE = "yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw"
UA_PUBLIC = (
    "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"
)
UA_PRIVATE = "q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"
SALT = "DGv6ra1nlYgDCS1FRnbzlw"
AUTH = "BTBZMqHH6r4Tts7J_aSIgg"
BODY = (
    "DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS"
    "6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPTpK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qu"
    "lcy4a-fN"
)

# RFC 8292 section 2.4; its token ends at 2016-01-23T04:36:08Z.
SIGNED = (
    "eyJ0eXAiOiJKV1QiLCJhbGciOiJFUzI1NiJ9"
    ".eyJhdWQiOiJodHRwczovL3B1c2guZXhhbXBsZS5uZXQiLCJleHAiOjE0NTM1MjM3NjgsInN1YiI6Im1haWx0bzpwdXNo"
    "QGV4YW1wbGUuY29tIn0"
    ".i3CYb7t4xfxCDquptFOepC9GAu_HLGkMlMuCGSK2rpiUfnK9ojFwDXb1JrErtmysazNjjvW2L9OkSSHzvoD1oA"
)
VAPID_KEY = (
    "BA1Hxzyi1RUM1b5wjxsn7nGxAszw2u61m164i3MrAIxHF6YK5h4SDYic-dRuU_RCPCfA5aq9ojSwk5Y2EmClBPs"
)
ENDS_S = 1453523768
AUDIENCE = "https://push.example.net"


def private(text: str) -> ec.EllipticCurvePrivateKey:
    return ec.derive_private_key(int.from_bytes(unb64u(text), "big"), ec.SECP256R1())


def test_the_key_pairs_belong_together():
    assert b64u(point(private(AS_PRIVATE).public_key())) == AS_PUBLIC
    assert b64u(point(private(UA_PRIVATE).public_key())) == UA_PUBLIC


def test_the_subscription_of_the_example_is_taken():
    push.check_keys(UA_PUBLIC, AUTH)


def test_the_body_of_the_example_is_decrypted():
    assert len(unb64u(BODY)) == 144
    plain = http_ece.decrypt(
        unb64u(BODY),
        private_key=private(UA_PRIVATE),
        auth_secret=unb64u(AUTH),
        version="aes128gcm",
    )
    assert plain == PLAIN


def test_the_body_of_the_example_is_made():
    body = http_ece.encrypt(
        PLAIN,
        salt=unb64u(SALT),
        private_key=private(AS_PRIVATE),
        dh=unb64u(UA_PUBLIC),
        auth_secret=unb64u(AUTH),
        version="aes128gcm",
    )
    assert b64u(body) == BODY


def test_a_body_that_was_touched_is_not_decrypted():
    touched = bytearray(unb64u(BODY))
    touched[-1] ^= 1
    with pytest.raises(http_ece.ECEException, match="Decryption error"):
        http_ece.decrypt(
            bytes(touched),
            private_key=private(UA_PRIVATE),
            auth_secret=unb64u(AUTH),
            version="aes128gcm",
        )


def test_the_token_of_the_example_is_valid():
    header = f"vapid t={SIGNED}, k={VAPID_KEY}"
    assert verify_vapid(header, audience=AUDIENCE, now_s=ENDS_S - 3600) == VAPID_KEY


@pytest.mark.parametrize(
    ("key", "audience", "now_s", "match"),
    [
        (VAPID_KEY, AUDIENCE, ENDS_S, "exp"),
        (VAPID_KEY, AUDIENCE, ENDS_S - 86_401, "exp"),
        (VAPID_KEY, "https://push.example.com", ENDS_S - 3600, "aud"),
        (AS_PUBLIC, AUDIENCE, ENDS_S - 3600, "signature"),
    ],
    ids=["over", "too far ahead", "another service", "another key"],
)
def test_the_token_of_the_example_is_valid_for_nothing_else(key, audience, now_s, match):
    with pytest.raises(ValueError, match=match):
        verify_vapid(f"vapid t={SIGNED}, k={key}", audience=audience, now_s=now_s)

"""Whose requests are heeded: names in Host that nobody can bend to this machine, and pages of our own."""

from ipaddress import ip_address


def is_address(text: str) -> bool:
    """Is it a literal address?"""
    try:
        ip_address(text)
    except ValueError:
        return False
    return True


def is_loopback(text: str) -> bool:
    """Does the address reach this machine only?"""
    return ip_address(text).is_loopback


def good_host(host: str, port: int, loopback: bool) -> bool:
    """Is the Host header ours?

    A page of elsewhere reaches us by a name that its owner points here (DNS rebinding): so names are refused.
    """
    name, colon, number = host.rpartition(":")
    if not colon or number != str(port):
        return False
    if name == "localhost":
        return True
    bare = name[1:-1] if name.startswith("[") and name.endswith("]") else name
    return is_address(bare) and (is_loopback(bare) or not loopback)


def good_origin(origin: str, host: str) -> bool:
    """Does a page of ours ask?"""
    return origin == f"http://{host}"

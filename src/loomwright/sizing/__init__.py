"""The conductor and the fuse, chosen together; what protects what."""

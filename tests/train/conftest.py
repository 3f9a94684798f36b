"""One thread for torch: the tests' tensors are tiny, and threads that wait for each other are slow."""

from importlib.util import find_spec

if find_spec("torch"):
    import torch

    torch.set_num_threads(1)

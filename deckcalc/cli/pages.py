"""Workbooks as plain pages: nothing from elsewhere, no more than so many kernels at a time."""

from __future__ import annotations

from typing import Any

from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
from tornado.web import HTTPError
from traitlets import Int

#: What a page may load: nothing from elsewhere, whatever a template of the server names.
FROM_HERE = "default-src 'self' data: blob: 'unsafe-inline' 'unsafe-eval'; connect-src 'self' ws: data: blob:; frame-ancestors 'self'"


class FewKernels(AsyncMappingKernelManager):
    """Starts kernels until there are as many as may be."""

    most = Int(8, help="Kernels at one time.").tag(config=True)

    async def start_kernel(self, **kwargs: Any) -> Any:  # type: ignore[override]
        """Start a kernel, or say that there are enough."""
        if len(self) >= self.most:
            raise HTTPError(
                503, f"{self.most} pages are open, and no more can be: close one, and load this page again."
            )
        return await super().start_kernel(**kwargs)


if __name__ == "__main__":
    from voila.app import Voila

    Voila.launch_instance(tornado_settings={"headers": {"Content-Security-Policy": FROM_HERE}})

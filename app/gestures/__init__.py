"""The tools: one file each. A tool turns mouse and keys into edits of the sketch."""

from app.gestures.registry import TOOLS, ToolInfo, tool_info

__all__ = ["TOOLS", "ToolInfo", "tool_info"]

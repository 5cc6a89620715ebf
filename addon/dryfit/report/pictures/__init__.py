"""Pictures of a design without Blender: from a stage and a standpoint to marked and lettered pixels."""

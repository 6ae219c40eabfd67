"""What this wing registers with the platform: its places in the menu. No long work, no client data."""

from studio.platform.registries import MenuEntry, register_menu
from studio.platform.rights import Right

register_menu(
    MenuEntry(40, "Cloth", "seamlab:cloths", Right.READ_SEAMS),
    MenuEntry(50, "Seams", "seamlab:recipes", Right.READ_SEAMS),
)

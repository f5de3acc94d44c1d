"""How much metal the cutter meets: passes, engagement, walls at full feed."""

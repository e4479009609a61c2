"""What to type, and what is kept."""

HELP = (
    "Tell me the batch, like \"4 lb coho fillets, 1 inch, skin on, brining tonight\".\n"
    "Send what you read: \"core 131 F\", \"tacky\", \"fridge 3 C\", and what you did: \"out of the brine\".\n"
    "Ask: \"what's next\", \"what's on\", \"can it stay till 8\", \"why\", \"show the plan\", \"12 labels\". \"Undo\" takes the last thing back."
)

HELLO = (
    "Hello. I do the sums and keep the times for your fish, from the brine to the bag.\n"
    "What are you making? Like \"4 lb coho fillets, 1 inch, skin on, brining tonight\".\n"
    "Local food codes and licensed practice come first."
)

PRIVACY = (
    "I keep this chat's batches: what was written about them and by whom, photos, readings, times, what I answered. "
    "Your chat's number, names, zone, units and quiet hours too. Nothing else, and nobody else gets it.\n"
    "\"Export everything\" hands you all of it as one file, \"delete everything\" removes it."
)

NOTED = "Noted with the batch; it stands on its card."
NO_BATCH_FOR_PHOTO = "No batch to keep that picture with. Tell me first what you are making."
NO_BATCH_FOR_NOTE = "I have no batch to put that note to."

FORGET_ASK = "Delete all batches, journals and settings of this chat? That cannot be undone."
FORGOTTEN = "Everything of this chat is deleted. Only the fact that it was deleted remains."
KEPT = "Nothing deleted."

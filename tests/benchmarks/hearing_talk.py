"""What is said in the room and not to the assistant, for measuring what it takes for itself.

Written after the thresholds were first fitted: none of it served to fit those; the short
confirmations, the drug names and the questions cut short were held to a stricter bar after a first
third of the measurement (docs/hearing.md says which figures count since then).
"""

import re

DECLINES = """
No it isn't. It is not right. That is not right. That isn't right. That's not confirmed. Not yet
confirmed. Nobody confirmed it. We haven't confirmed it yet. No, wait. No, hang on. No, stop. Nah.
Not really. Not now. Not ready. Not so. It's wrong. That was wrong. This is wrong. No no no.
Definitely not. Certainly not. I would not confirm that. You cannot say it is confirmed. Do not
confirm. Never confirmed. It can't be confirmed. Unable to confirm. No confirmation yet. Still not
confirmed. Not affirmative at all. That's negative. No that's wrong. It is not up. It is not
running. Not connected. Not checked yet. It's not done.
"""
HEDGES = """
Could be. Might be. Looks confirmed to me. I suppose so. It may be confirmed. Perhaps it is. As
far as I know. It seems right. Seems to be. Sort of. Kind of. Just about. Confirmed in a minute.
Confirmed by whom? Is it right? Is that right? That's right, is it? It should be confirmed. Let me
confirm. I will confirm. Can you confirm? Who can confirm? Has he confirmed? Confirmed yesterday.
Almost confirmed. Partly confirmed. I hope so. Hopefully. Not sure. In a moment. Soon. Give me a
second. Getting there. Working on it.
"""
TALK = """
Uh huh. Hmm. Right then. Very well. Great. Perfect. Good. Good job. Nice. Cool. Excellent. Sorry.
Excuse me. Please. What? Who? When? How? Here. There. Now. Then. Go. Gone. Nose. Note. Not. Nine.
Noon. Know it. Yesterday evening. Yes and no. Yes sir. Yes, coming. Yes, in the drawer. Is he
asleep? She has lost her teeth. Careful with his neck. There's vomit in the mouth. The mask is
leaking. Squeeze the bag. Press on the throat. His chest is rising. Both sides. I see the
epiglottis. Grade two view. Bougie please. More to the left. A bit deeper. Twenty two at the lips.
Inflate the cuff. Tie the tube. Call the anaesthetist. Is theatre free? Book a scan. Take some
blood. Check the glucose. What's the potassium? Lactate is four. Pulse is thirty. Forty over
twenty. One milligram of adrenaline. Two hundred of propofol. Fifty of rocuronium. How much
ketamine did he get? Did you give the fentanyl? Ketamine was given. Is there any sugammadex? I
need the rocuronium. Pass the atropine. What is in that syringe? Seventy five over fifty. Two
hours ago. At ten to five. Room number twelve. Bed sixteen. Extension two four one. Eighteen
years. She's about fifty. A hundred percent. Eighty kilos of luggage. He fell down the stairs. The
family is outside. Somebody tell his wife. It's raining outside. My back hurts. Where did Anna go?
Have you seen my pen? Let's have coffee. Turn off that radio. The lights went out. Watch the wire.
Mind the step. Move the bed up. Lower the bed. Lift on three. One two three lift. Ready, steady,
go. Wait for me. Stay there. Come back. Back up. Go ahead. Stop there. Stop compressions. Stop
pushing. Talk to me. Be careful. Say something. Say when. Say that to him. Repeat the gas. Repeat
the dose. Why would you? Why now? Tell me about it. Hold this. Hold his head. Hold the pressure.
Hold it there. Begin compressions. Start a line. Start the clock. Start over. End tidal is low.
The case is complicated. In any case. Open your mouth. Close your eyes. A new patient is coming.
We must go to the scanner. Go now. The tube is out. The tube is in the drawer. The cylinder is
empty. The attempt was difficult. The first attempt failed in the field. Drugs are ready. The
relaxant is wearing off. The weight is wrong. The patient is a runner. The patient is asleep. He
is a teacher. She is a woman of few words. The blood pressure is fine. The blood pressure is
climbing. The pressure is up. The saturation is dropping. How is the saturation? What is the time?
What is the matter? What is the dosing? What is the plan for lunch? What is on the left? What's
left to drink? Who is the consultant? The consultant said no. The registrar is late. The nurse has
confirmed. Pharmacy confirmed the order. They confirmed the booking.
"""


def sentences(text: str) -> list[str]:
    """One sentence each, with its mark."""
    parts = re.findall(r"[^.?!]+[.?!]", text.replace("\n", " "))
    return [part.strip() for part in parts]

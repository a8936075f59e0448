"""One mistake put into clean music, and plain arithmetic that says it is one.

Each maker takes music and a seeded source of chance and gives back a `Fault`, or None where the
place drawn does not suit. Nothing here asks the product. Sources of the numbers: tunings of the
instrument data of the music21 package 10.5.1; tops of Prout (1899) and Widor (1906) as listed in
the project's instrument tables; the rest is named where it stands.
"""

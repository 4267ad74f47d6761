"""What does Stanchion publish about itself in FHIR?"""
